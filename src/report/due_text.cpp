#include "report/due_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <unordered_map>

#include "report/or_null.h"
#include "report/wrap.h"

namespace stopledger {
namespace {

using ordered_json = nlohmann::ordered_json;

constexpr std::array all_states{DueState::overdue, DueState::unknown, DueState::due,
                                DueState::later};

std::size_t count(std::span<const DueItem> items, DueState state) {
  return static_cast<std::size_t>(std::count_if(
      items.begin(), items.end(), [&](const DueItem& i) { return i.state == state; }));
}

/// What matters of the date, in a few words.
std::string when(const DueItem& item) {
  switch (item.state) {
    case DueState::overdue:
      return fmt::format("was due {}", format_day(*item.due));
    case DueState::unknown:
      return "last time unknown";
    case DueState::due:
      return fmt::format("due by {}", format_day(*item.due));
    case DueState::later:
      break;
  }
  return item.opens ? fmt::format("from {} on", format_day(*item.opens)) : "not yet";
}

std::string record_number(std::int64_t id) {
  return id == 0 ? std::string() : fmt::format(" (record {})", id);
}

bool same_blocks(const DueItem& a, const DueItem& b) {
  return std::equal(a.blocks.begin(), a.blocks.end(), b.blocks.begin(), b.blocks.end(),
                    [](const Block& x, const Block& y) { return x.reason == y.reason; });
}

/// What stands in the way; what was said of another item of the car (`shown`) is not said again.
std::string blocks_text(const DueItem& item, std::vector<const DueItem*>& shown) {
  if (item.blocks.empty()) return {};
  for (const auto* other : shown)
    if (same_blocks(item, *other))
      return fmt::format("         first: the same as for {}\n", other->procedure);
  shown.push_back(&item);
  std::string out;
  for (const auto& block : item.blocks) {
    out += wrap("         first: ", block.reason + record_number(block.record_id));
    out += wrap("                cleared by: ", block.clears);
  }
  return out;
}

ordered_json block_json(const Block& block) {
  return {{"id", block.id},
          {"hard", block.hard},
          {"may_override", block.may_override},
          {"procedure", or_null(block.procedure)},
          {"reason", block.reason},
          {"record", number_or_null(block.record_id)},
          {"record_uid", or_null(block.record)},
          {"day", or_null(block.day)},
          {"clears", block.clears}};
}

}  // namespace

std::string due_text(std::span<const DueItem> items, std::span<const Conflict> conflicts, Day on,
                     bool with_later) {
  std::string out = format_day(on) + ": ";
  std::vector<std::string> counts;
  for (const auto state : all_states)
    if (const auto n = count(items, state); n > 0 && (with_later || state != DueState::later))
      counts.push_back(fmt::format("{} {}", n, due_state_name(state)));
  out += counts.empty() ? "nothing is due\n" : fmt::format("{}\n", fmt::join(counts, ", "));
  // By car, with blocks, one for each set of them.
  std::unordered_map<std::string, std::vector<const DueItem*>> shown;
  for (const auto& item : items) {
    if (item.state == DueState::later && !with_later) continue;
    out += fmt::format("\n{:<8} {}: {} ({}), {}\n", due_state_name(item.state), item.car, item.name,
                       item.procedure, when(item));
    out += wrap("         ", item.reason + record_number(item.cause_record_id));
    out += blocks_text(item, shown[item.car]);
  }
  for (const auto& conflict : conflicts)
    out += fmt::format("\nconflict {}: not settled since two ledgers were brought together\n",
                       conflict.car) +
           wrap("         ", conflict.text);
  return out;
}

std::string due_json(std::span<const DueItem> items, std::span<const Conflict> conflicts, Day on) {
  ordered_json out{{"schema", "stopledger.due/1"}, {"on", format_day(on)}};
  for (const auto state : all_states) out[std::string(due_state_name(state))] = count(items, state);
  out["items"] = ordered_json::array();
  for (const auto& item : items) {
    ordered_json blocks = ordered_json::array();
    for (const auto& block : item.blocks) blocks.push_back(block_json(block));
    out["items"].push_back({{"car", item.car},
                            {"procedure", item.procedure},
                            {"name", item.name},
                            {"state", due_state_name(item.state)},
                            {"last", or_null(item.last)},
                            {"last_record", number_or_null(item.last_record_id)},
                            {"opens", or_null(item.opens)},
                            {"due", or_null(item.due)},
                            {"due_low", or_null(item.due_low)},
                            {"due_high", or_null(item.due_high)},
                            {"overdue_after", or_null(item.overdue_after)},
                            {"seasonal", item.seasonal},
                            {"cause_record", number_or_null(item.cause_record_id)},
                            {"reason", item.reason},
                            {"basis", or_null(item.basis)},
                            {"blocks", blocks}});
  }
  out["conflicts"] = ordered_json::array();
  for (const auto& conflict : conflicts)
    out["conflicts"].push_back({{"car", conflict.car}, {"text", conflict.text}});
  return out.dump(2) + "\n";
}

}  // namespace stopledger
