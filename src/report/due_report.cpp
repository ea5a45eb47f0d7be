#include "report/due_report.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <iterator>
#include <nlohmann/json.hpp>
#include <ostream>

#include "report/or_null.h"
#include "report/wrap.h"

namespace stopledger {
namespace {

using ordered_json = nlohmann::ordered_json;

constexpr std::array all_states{DueState::overdue, DueState::unknown, DueState::due,
                                DueState::later};

/// What matters of the date, in a few words.
std::string when(const DueItem& item) {
  switch (item.state) {
    case DueState::overdue:
      return "was due " + format_day(*item.due);
    case DueState::unknown:
      return "last time unknown";
    case DueState::due:
      return "due by " + format_day(*item.due);
    case DueState::later:
      break;
  }
  return item.opens ? "from " + format_day(*item.opens) + " on" : "not yet";
}

std::string record_number(std::int64_t id) {
  return id == 0 ? std::string() : " (record " + std::to_string(id) + ")";
}

bool same_blocks(const DueItem& a, const DueItem& b) {
  return std::equal(a.blocks.begin(), a.blocks.end(), b.blocks.begin(), b.blocks.end(),
                    [](const Block& x, const Block& y) { return x.reason == y.reason; });
}

/// What stands in the way; what was said of another item of the car (`shown`) is not said again.
void put_blocks(std::string& out, const DueItem& item, std::vector<const DueItem*>& shown) {
  if (item.blocks.empty()) return;
  for (const auto* other : shown)
    if (same_blocks(item, *other)) {
      fmt::format_to(std::back_inserter(out), "         first: the same as for {}\n",
                     other->procedure);
      return;
    }
  shown.push_back(&item);
  for (const auto& block : item.blocks) {
    wrap_to(out, "         first: ", block.reason + record_number(block.record_id));
    wrap_to(out, "                cleared by: ", block.clears);
  }
}

void put_text(std::string& out, const DueItem& item, std::vector<const DueItem*>& shown) {
  const auto state = due_state_name(item.state);
  out += '\n';
  out += state;
  out.append(9 - state.size(), ' ');
  out += item.car;
  out += ": ";
  out += item.name;
  out += " (";
  out += item.procedure;
  out += "), ";
  out += when(item);
  out += '\n';
  wrap_to(out, "         ", item.reason + record_number(item.cause_record_id));
  put_blocks(out, item, shown);
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

ordered_json item_json(const DueItem& item) {
  ordered_json blocks = ordered_json::array();
  for (const auto& block : item.blocks) blocks.push_back(block_json(block));
  return {{"car", item.car},
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
          {"blocks", blocks}};
}

/// As an element of the list in the document.
void put_json(std::string& out, const DueItem& item) {
  out += "    ";
  for (const char c : item_json(item).dump(2)) {
    out += c;
    if (c == '\n') out += "    ";  // of the layout: in a string it is written as an escape
  }
}

/// Smaller comes first: by state, then by day, none before any, then by place of the car.
std::uint64_t order_of(const DueItem& item, std::uint32_t place) {
  std::uint64_t day = 0;
  if (item.due) {
    constexpr int before_any = 1 << 29;
    day = static_cast<std::uint64_t>(date::sys_days{*item.due}.time_since_epoch().count() +
                                     before_any);
  }
  return static_cast<std::uint64_t>(item.state) << 62 | day << 32 | place;
}

}  // namespace

void DueReport::add(std::uint32_t place, std::span<const DueItem> items) {
  constexpr std::size_t enough = 1U << 20;  // chosen: growing on would copy it again and again
  if (texts_.empty()) texts_.emplace_back();
  if (texts_.back().size() > enough) texts_.emplace_back().reserve(enough + enough / 4);
  std::vector<const DueItem*> shown;
  auto& out = texts_.back();
  const auto text = static_cast<std::uint32_t>(texts_.size() - 1);
  for (const auto& item : items) {
    ++counts_[static_cast<std::size_t>(item.state)];
    if (item.state == DueState::later && form_ == DueForm::text) continue;
    const std::size_t begin = out.size();
    if (form_ == DueForm::json)
      put_json(out, item);
    else
      put_text(out, item, shown);
    entries_.push_back(
        {order_of(item, place), begin, static_cast<std::uint32_t>(out.size() - begin), text});
  }
}

void DueReport::join(DueReport other) {
  assert(form_ == other.form_ && on_ == other.on_);
  const auto first = static_cast<std::uint32_t>(texts_.size());
  for (auto& entry : other.entries_) {
    entry.text += first;
    entries_.push_back(entry);
  }
  std::move(other.texts_.begin(), other.texts_.end(), std::back_inserter(texts_));
  for (std::size_t i = 0; i < counts_.size(); ++i) counts_[i] += other.counts_[i];
}

void DueReport::write(std::ostream& out, std::span<const Conflict> conflicts) {
  std::sort(entries_.begin(), entries_.end(), [](const Entry& a, const Entry& b) {
    return a.order != b.order ? a.order < b.order : a.begin < b.begin;
  });
  if (form_ == DueForm::json)
    write_json(out, conflicts);
  else
    write_text(out, conflicts);
}

void DueReport::write_items(std::ostream& out, std::string_view between) const {
  std::string_view before;
  for (const auto& entry : entries_) {
    out << before << std::string_view(texts_[entry.text]).substr(entry.begin, entry.size);
    before = between;
  }
}

void DueReport::write_text(std::ostream& out, std::span<const Conflict> conflicts) const {
  std::vector<std::string> counts;
  for (const auto state : all_states)
    if (const auto n = counts_[static_cast<std::size_t>(state)];
        n > 0 && (form_ == DueForm::text_with_later || state != DueState::later))
      counts.push_back(fmt::format("{} {}", n, due_state_name(state)));
  out << format_day(on_) << ": "
      << (counts.empty() ? "nothing is due" : fmt::format("{}", fmt::join(counts, ", "))) << "\n";
  write_items(out, "");
  for (const auto& conflict : conflicts)
    out << "\nconflict " << conflict.car
        << ": not settled since two ledgers were brought together\n"
        << wrap("         ", conflict.text);
}

void DueReport::write_json(std::ostream& out, std::span<const Conflict> conflicts) const {
  ordered_json head{{"schema", "stopledger.due/1"}, {"on", format_day(on_)}};
  for (const auto state : all_states)
    head[std::string(due_state_name(state))] = counts_[static_cast<std::size_t>(state)];
  ordered_json unsettled = ordered_json::array();
  for (const auto& conflict : conflicts)
    unsettled.push_back({{"car", conflict.car}, {"text", conflict.text}});
  const auto tail = ordered_json{{"conflicts", unsettled}};
  // One document in three parts: the items are in words already.
  const auto open = head.dump(2);
  out << std::string_view(open).substr(0, open.size() - 2) << ",\n  \"items\": [";
  if (!entries_.empty()) out << "\n";
  write_items(out, ",\n");
  out << (entries_.empty() ? "]" : "\n  ]") << "," << tail.dump(2).substr(1) << "\n";
}

}  // namespace stopledger
