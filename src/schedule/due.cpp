#include "schedule/due.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <tuple>

#include "schedule/item.h"

namespace stopledger {
namespace {

/// Facts of the unit sheet that decide what is safe and what a log means.
std::string missing_facts(const CarFacts& facts) {
  std::string missing;
  const auto need = [&](bool known, std::string_view name) {
    if (!known) missing += fmt::format("{}{}", missing.empty() ? "" : ", ", name);
  };
  need(facts.unit_kind != UnitKind::unknown, "unit kind");
  need(facts.split != CircuitSplit::unknown, "circuit split");
  need(facts.channels.has_value(), "channels");
  need(facts.sensors.has_value(), "sensors");
  need(facts.has_isolation_valves.has_value(), "isolation valves");
  return missing;
}

}  // namespace

std::string_view due_state_name(DueState state) {
  constexpr std::array<std::string_view, 4> names{"overdue", "unknown", "due", "later"};
  return names[static_cast<std::size_t>(state)];
}

const Judgement& Situation::judgement(const Procedure& procedure) const {
  const auto index = static_cast<std::size_t>(&procedure - procedures.data());
  assert(index < judgements_.size());
  auto& kept = judgements_[index];
  if (kept) return *kept;
  kept.emplace();
  kept->doings = doings_of(history, procedure);
  if (car.state != CarState::active || !applies_to(car, procedure)) return *kept;

  if (procedure.fills_sheet) {
    if (auto missing = missing_facts(car.facts); !missing.empty()) {
      kept->arm.emplace();
      kept->arm->state = DueState::unknown;
      kept->arm->reason = [missing] {
        return fmt::format("the car's sheet does not say: {}", missing);
      };
    }
    return *kept;
  }
  kept->rule = rule_for(car, procedure, kept->merged);
  if (kept->rule == nullptr) return *kept;
  auto arms = arms_of(*this, procedure, *kept->rule, kept->doings);
  if (arms.empty()) return *kept;
  kept->arm = std::move(*std::min_element(arms.begin(), arms.end(), [](const Arm& a, const Arm& b) {
    return std::tie(a.state, a.due) < std::tie(b.state, b.due);
  }));
  return *kept;
}

std::optional<DueItem> due_item(const Situation& now, const Procedure& procedure) {
  const auto& [merged, rule, doings, arm] = now.judgement(procedure);
  if (!arm) return std::nullopt;
  DueItem item;
  item.car = now.car.facts.name;
  item.procedure = procedure.id;
  item.name = procedure.name;
  item.state = arm->state;
  item.opens = arm->opens;
  item.due = arm->due;
  item.overdue_after = arm->overdue_after;
  item.due_low = arm->low;
  item.due_high = arm->high;
  item.reason = arm->reason();
  item.basis = "what is safe depends on it";
  if (rule != nullptr) {
    item.seasonal = !rule->season_months.empty();
    item.basis = rule->basis;
  }
  if (arm->cause != nullptr) {
    item.cause_record = arm->cause->uid;
    item.cause_record_id = arm->cause->id;
  }
  if (const Record* last = doings.last()) {
    item.last = last->day;
    item.last_record = last->uid;
    item.last_record_id = last->id;
  }
  if (const Record* tried = doings.no_answer;
      tried && (doings.last() == nullptr || after(*tried, *doings.last())))
    item.reason += fmt::format("; tried on {}, which came out as {}", format_day(tried->day),
                               field(*tried, "result"));
  if (const auto* stood = now.standing(); stood && procedure.rests_in_storage) {
    item.state = DueState::later;
    item.reason = fmt::format("the car is stored since {}; due when it returns (before that: {})",
                              format_day(stood->begin->day), item.reason);
  }
  return item;
}

std::vector<DueItem> what_is_due(const CarSheet& car, std::span<const Record> records,
                                 std::span<const Procedure> procedures, Day today,
                                 bool with_later) {
  if (car.state != CarState::active) return {};
  const Situation now(car, records, procedures, today);
  const bool stored = now.standing() != nullptr;
  struct Found {
    DueState state;
    std::optional<Day> due;
    const Procedure* procedure;
  };
  std::vector<Found> found;
  found.reserve(procedures.size());
  for (const auto& procedure : procedures) {
    const auto& arm = now.judgement(procedure).arm;
    if (!arm) continue;
    const auto state = stored && procedure.rests_in_storage ? DueState::later : arm->state;
    if (state != DueState::later || with_later) found.push_back({state, arm->due, &procedure});
  }
  std::sort(found.begin(), found.end(), [](const Found& a, const Found& b) {
    return std::tie(a.state, a.due, a.procedure->id) < std::tie(b.state, b.due, b.procedure->id);
  });
  std::vector<DueItem> items;
  items.reserve(found.size());
  for (const auto& [state, due, procedure] : found) {
    items.push_back(*due_item(now, *procedure));
    if (state != DueState::later) items.back().blocks = blocks(now, *procedure, true);
  }
  return items;
}

}  // namespace stopledger
