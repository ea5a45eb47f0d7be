#include "schedule/rule.h"

#include <algorithm>

#include "record/contradiction.h"

namespace stopledger {
namespace {

/// True when `id` stands in a list separated by commas or spaces.
bool lists(std::string_view list, std::string_view id) {
  for (std::size_t from = 0; from < list.size();) {
    const auto to = std::min(list.find_first_of(", ", from), list.size());
    if (list.substr(from, to - from) == id) return true;
    from = to + 1;
  }
  return false;
}

const Record* later(const Record* a, const Record* b) {
  if (a == nullptr || b == nullptr) return a == nullptr ? b : a;
  return after(*a, *b) ? a : b;
}

}  // namespace

bool belongs_to(const Record& record, const Procedure& procedure) {
  if (record.kind != procedure.record_kind) return false;
  const auto named = field(record, "procedure");
  return named.empty() || lists(named, procedure.id);
}

Outcome outcome_of(const Record& record, const Procedure& procedure) {
  const auto result = field(record, "result");
  if (result == "fail" || result == "suspect" || result == "repair") return Outcome::failed;
  if (!failing_corner(record).empty()) return Outcome::failed;
  if (result == "idle" || result == "unseen") return Outcome::no_answer;
  if (result == "commanded" && procedure.expectation && procedure.expectation->needs_wheel_answer)
    return Outcome::no_answer;
  return Outcome::done;
}

std::string failure_words(const Record& record) {
  const auto result = field(record, "result");
  const auto corner = failing_corner(record);
  return result != "pass" || corner.empty() ? std::string(result) : corner;
}

const Record* Doings::last() const { return later(done, failed); }

const Record* Doings::open_failure() const {
  return failed != nullptr && later(done, failed) == failed ? failed : nullptr;
}

Doings doings_of(const History& history, const Procedure& procedure) {
  Doings doings;
  for (const Record* record : history.of(procedure.record_kind)) {
    if (!belongs_to(*record, procedure)) continue;
    switch (outcome_of(*record, procedure)) {
      case Outcome::done:
        doings.done = record;
        break;
      case Outcome::failed:
        doings.failed = record;
        break;
      case Outcome::no_answer:
        doings.no_answer = record;
        break;
    }
  }
  return doings;
}

const Interval* rule_for(const CarSheet& car, const Procedure& procedure,
                         std::optional<Interval>& merged) {
  merged.reset();
  for (const auto& manual : car.rules) {
    if (manual.procedure != procedure.id) continue;
    if (!merged) {
      merged = procedure.interval.value_or(Interval{});
      merged->months.reset();
      merged->distance_km.reset();
      merged->basis = "manual, " + manual.where;
    }
    const auto stricter = [](auto& mine, const auto& theirs) {
      if (theirs) mine = mine ? std::min(*mine, *theirs) : *theirs;
    };
    stricter(merged->months, manual.months);
    stricter(merged->distance_km, manual.distance_km);
  }
  // A yearly window can't carry the manual's odd number of months.
  if (merged && merged->months.value_or(1) % 12 != 0) merged->season_months.clear();
  if (car.southern && !merged && procedure.interval && !procedure.interval->season_months.empty())
    merged = procedure.interval;
  if (car.southern && merged && !merged->season_months.empty()) {
    for (int& month : merged->season_months) month = (month + 5) % 12 + 1;
    merged->basis += "; half a year later in the south";
  }
  if (merged) return &*merged;
  return procedure.interval ? &*procedure.interval : nullptr;
}

bool applies_to(const CarSheet& car, const Procedure& procedure) {
  const auto& kinds = procedure.unit_kinds;
  if (!kinds.empty() && std::find(kinds.begin(), kinds.end(), car.facts.unit_kind) == kinds.end())
    return false;
  return !procedure.needs_circuit_valves || car.facts.has_isolation_valves.value_or(false);
}

std::optional<Trigger> parse_trigger(std::string_view text) {
  Trigger trigger;
  const auto colon = text.find(':');
  trigger.kind = text.substr(0, colon);
  if (colon != std::string_view::npos) {
    const auto rest = text.substr(colon + 1);
    const auto equals = rest.find('=');
    trigger.field = rest.substr(0, equals);
    if (equals != std::string_view::npos) trigger.value = rest.substr(equals + 1);
    if (trigger.field.empty() || (equals != std::string_view::npos && trigger.value.empty()))
      return std::nullopt;
  }
  if (trigger.kind.empty()) return std::nullopt;
  return trigger;
}

bool fires(const Record& record, const Trigger& trigger) {
  if (record.kind != trigger.kind) return false;
  if (trigger.field.empty()) return true;
  return trigger.value.empty() ? flag(record, trigger.field)
                               : field(record, trigger.field) == trigger.value;
}

const Record* newest_trigger(const History& history, const Interval& rule) {
  const Record* newest = nullptr;
  for (const auto& text : rule.after_records) {
    const auto trigger = parse_trigger(text);
    if (!trigger) continue;
    const auto records = history.of(trigger->kind);
    const auto found = std::find_if(records.rbegin(), records.rend(),
                                    [&](const Record* r) { return fires(*r, *trigger); });
    if (found != records.rend()) newest = later(newest, *found);
  }
  return newest;
}

Season season_of(const Interval& rule, int year) {
  const Day start = date::year{year} / rule.season_months.front() / 1;
  return {start, add_days(add_months(start, static_cast<int>(rule.season_months.size())), -1)};
}

int season_year(const Interval& rule, Day day, int early_months) {
  // Seasons start on the first of a month, so that months alone decide.
  const int year = static_cast<int>(day.year());
  const int months = 12 * year + static_cast<int>(unsigned{day.month()}) + early_months;
  return std::min((months - rule.season_months.front()) / 12, year + 1);
}

}  // namespace stopledger
