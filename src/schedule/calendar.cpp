#include "schedule/calendar.h"

#include <fmt/format.h>

#include <algorithm>

#include "schedule/item.h"

namespace stopledger {
namespace {

constexpr int season_alarm_days = 14;   // two weeks: time to find a lot, a helper and a dry day
constexpr int frequent_alarm_days = 2;  // chosen: two weeks ahead would be before the last one
constexpr int frequent_months = 3;
constexpr std::size_t kept_turns = 12;  // chosen: a year of monthly tasks; older ones were closed

// The sequence grows by this with every entry in the ledger; below it count the years by which a
// seasonal window has moved on without one. 16 million entries fit RFC 5545's integer.
constexpr std::int64_t sequence_step = 128;

std::string turn_uid(const Procedure& procedure, const CarSheet& car, const std::string& after) {
  // A car's first turn follows no record; its name stands in, in letters that are safe anywhere.
  std::string key = after;
  if (key.empty())
    for (const unsigned char c : car.facts.name) key += fmt::format("{:02x}", c);
  return fmt::format("{}.{}@stopledger", procedure.id, key);
}

std::string description(const DueItem& item, const Procedure& procedure) {
  std::string text = fmt::format("{}: {}.", due_state_name(item.state), item.reason);
  if (!item.basis.empty()) text += fmt::format("\nRule: {}.", item.basis);
  for (const auto& block : item.blocks)
    text += fmt::format("\nIn the way: {}. {}.", block.reason, block.clears);
  if (!procedure.cautions.empty()) {
    text += "\nCautions:";
    for (const auto& id : procedure.cautions) text += " " + id;
  }
  text += fmt::format("\nHow: stopledger procedures show {}. The car's own manual decides.",
                      procedure.id);
  return text;
}

class Calendar {
 public:
  Calendar(const CarSheet& car, std::span<const Record> records,
           std::span<const Procedure> procedures, Day today, std::int64_t revision, Day revised)
      : car_(car),
        records_(records),
        now_(car, records, procedures, today),
        revision_(revision),
        revised_(revised) {}

  std::vector<CalendarEntry> all() {
    std::vector<DueItem> items;
    if (car_.state == CarState::active)
      items = what_is_due(car_, records_, now_.procedures, now_.on);
    for (const auto& procedure : now_.procedures) {
      const auto item = std::find_if(items.begin(), items.end(),
                                     [&](const DueItem& i) { return i.procedure == procedure.id; });
      turns(procedure, item == items.end() ? nullptr : &*item);
    }
    return std::move(entries_);
  }

 private:
  CalendarEntry entry(const Procedure& procedure, const std::string& after, Day day) {
    CalendarEntry e;
    e.uid = turn_uid(procedure, car_, after);
    e.sequence = revision_ * sequence_step;
    e.day = day;
    e.summary = fmt::format("{}: {}", car_.facts.name, procedure.name);
    return e;
  }

  void coming(const Procedure& procedure, const DueItem& item) {
    // With a season the day is its start: that is when a lot can be looked for.
    const Day day = item.seasonal && item.opens ? *item.opens : item.due.value_or(revised_);
    auto e = entry(procedure, item.last_record, day);
    if (item.seasonal) e.sequence += std::clamp(static_cast<int>(day.year()) - 2000, 0, 127);
    e.opens = item.opens;
    e.due = item.due;
    e.description = description(item, procedure);
    std::optional<Interval> merged;
    const Interval* rule = rule_for(car_, procedure, merged);
    const bool frequent = rule == nullptr || rule->months.value_or(0) < frequent_months;
    e.alarm_days = frequent ? frequent_alarm_days : season_alarm_days;
    if (now_.standing() != nullptr && procedure.rests_in_storage)
      e.status = CalendarEntry::Status::cancelled;
    entries_.push_back(std::move(e));
  }

  void closed(const Procedure& procedure, const std::string& after, Day day, bool done) {
    auto e = entry(procedure, after, day);
    e.status = done ? CalendarEntry::Status::done : CalendarEntry::Status::cancelled;
    e.description = done ? "Done." : "No longer asked for.";
    entries_.push_back(std::move(e));
  }

  void turns(const Procedure& procedure, const DueItem* item) {
    std::optional<Interval> merged;
    const Interval* rule = rule_for(car_, procedure, merged);
    if (procedure.fills_sheet || rule == nullptr) return;  // the sheet is filled at the desk
    if (item != nullptr) coming(procedure, *item);
    const std::string open = item != nullptr ? item->last_record : "";
    const Record* last = doings_of(now_.history, procedure).last();

    std::vector<const Record*> own;
    for (const auto& record : records_)
      if (belongs_to(record, procedure) && record.day <= now_.on &&
          outcome_of(record, procedure) != Outcome::no_answer)
        own.push_back(&record);
    std::sort(own.begin(), own.end(),
              [](const Record* a, const Record* b) { return after(*a, *b); });
    for (std::size_t i = 0; i < std::min(own.size(), kept_turns); ++i)
      if (item == nullptr || own[i]->uid != open)
        closed(procedure, own[i]->uid, own[i]->day, own[i]->current() && own[i] != last);

    // The first turn of all, if an earlier export can have held it.
    if (item != nullptr && open.empty()) return;
    if (!own.empty() || car_.state != CarState::active || lost_cause(*rule))
      closed(procedure, "", own.empty() ? revised_ : own.back()->day, last != nullptr);
  }

  /// True when a record that once asked for the task no longer stands.
  bool lost_cause(const Interval& rule) {
    return std::any_of(records_.begin(), records_.end(), [&](const Record& record) {
      return !record.current() && std::any_of(rule.after_records.begin(), rule.after_records.end(),
                                              [&](const std::string& text) {
                                                const auto trigger = parse_trigger(text);
                                                return trigger && trigger->kind == record.kind;
                                              });
    });
  }

  const CarSheet& car_;
  std::span<const Record> records_;
  Situation now_;
  std::int64_t revision_;
  Day revised_;
  std::vector<CalendarEntry> entries_;
};

}  // namespace

std::vector<CalendarEntry> calendar_of(const CarSheet& car, std::span<const Record> records,
                                       std::span<const Procedure> procedures, Day today,
                                       std::int64_t revision, Day revised) {
  return Calendar(car, records, procedures, today, revision, revised).all();
}

}  // namespace stopledger
