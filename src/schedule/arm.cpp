#include <fmt/format.h>

#include <algorithm>

#include "schedule/item.h"

namespace stopledger {

namespace {

DueState state_on(Day on, const Arm& arm) {
  if (arm.overdue_after && on > *arm.overdue_after) return DueState::overdue;
  return arm.opens && on < *arm.opens ? DueState::later : DueState::due;
}

std::string every(const Interval& rule) {
  std::string text;
  if (rule.months)
    text = *rule.months == 1 ? "every month" : "every " + std::to_string(*rule.months) + " months";
  if (rule.distance_km)
    text += fmt::format("{} {:.0f} km", text.empty() ? "every" : " or", *rule.distance_km);
  return text;
}

Arm months_arm(const Situation& now, const Interval& rule, const Record& last) {
  Arm arm;
  arm.due = add_months(last.day, *rule.months);
  arm.opens = add_months(*arm.due, -rule.early_months);
  arm.overdue_after = add_months(*arm.due, rule.late_months);
  arm.state = state_on(now.on, arm);
  arm.reason = [&rule, &last] { return "last done " + format_day(last.day) + ", " + every(rule); };
  return arm;
}

/// Distance in km since `last`; nothing when the odometer of that day can't be told.
std::optional<Arm> distance_arm(const Situation& now, const Interval& rule, const Record& last) {
  const Use& use = now.use();
  const auto from = use.km_on(last.day);
  if (!from) return std::nullopt;
  const auto reached = day_of_distance(use, *from + *rule.distance_km);
  if (!reached) return std::nullopt;
  Arm arm;
  arm.due = reached->day;
  arm.low = reached->low;
  arm.high = reached->high;
  arm.opens = add_months(reached->day, -rule.early_months);
  // Only a reading, or the slowest use that the readings allow, makes it overdue.
  arm.overdue_after = add_months(reached->high, rule.late_months);
  arm.state = state_on(now.on, arm);
  arm.reason = [&rule, &last, &use, at = *reached] {
    auto text = "last done " + format_day(last.day) + ", " + every(rule);
    if (at.proven)
      return text + fmt::format("; the odometer passed that about {}", format_day(at.day));
    return text + fmt::format("; at {:.0f} km a month that is reached about {} ({} to {})",
                              use.km_per_day->slope * 365.25 / 12.0, format_day(at.day),
                              format_day(at.low), format_day(at.high));
  };
  return arm;
}

/// The newest record that says this season's turn was put off.
const Record* postponed(const Situation& now, const Procedure& procedure) {
  const auto all = now.history.of("postponed");
  const auto found = std::find_if(all.rbegin(), all.rend(), [&](const Record* r) {
    return field(*r, "procedure") == procedure.id;
  });
  return found == all.rend() ? nullptr : *found;
}

/// A yearly window: done early or late counts for the season it is nearest to, so that the window
/// does not wander; a season that went by is not dunned for in winter.
Arm season_arm(const Situation& now, const Procedure& procedure, const Interval& rule,
               const Record* last) {
  const int current = season_year(rule, now.on, 0);
  int turn = last != nullptr ? season_year(rule, last->day, rule.early_months) + *rule.months / 12
                             : current;
  const Record* off = postponed(now, procedure);
  if (off != nullptr && (last == nullptr || after(*off, *last)))
    turn = std::max(turn, season_year(rule, off->day, 0) + 1);
  else
    off = nullptr;

  Arm arm;
  const auto window = [&](int year) {
    const Season season = season_of(rule, year);
    arm.opens = season.start;
    arm.due = season.end;
    arm.overdue_after = add_months(season.end, rule.late_months);
  };
  window(turn);
  const Day missed_end = *arm.overdue_after;
  if (now.on > missed_end) {
    const int year = season_year(rule, now.on, 0);
    const Day last_chance = add_months(season_of(rule, year).end, rule.late_months);
    window(year > turn && now.on <= last_chance ? year : year + 1);
  }
  if (now.on < *arm.opens)
    arm.state = DueState::later;
  else
    arm.state = now.on > missed_end ? DueState::overdue : DueState::due;
  if (last == nullptr) arm.state = DueState::unknown;
  arm.reason = [=, &rule, on = now.on, opens = *arm.opens, state = arm.state] {
    auto text = last != nullptr ? "last done " + format_day(last->day) + ", every " +
                                      std::to_string(*rule.months) + " months in season"
                                : std::string("no record of it");
    if (off != nullptr)
      text += fmt::format("; put off on {}: {}", format_day(off->day), field(*off, "reason"));
    if (on > missed_end && last != nullptr)
      text += "; the season of " + std::to_string(turn) + " went by without it";
    if (state != DueState::due)
      text +=
          (on < opens ? "; the window opens on " : "; the window opened on ") + format_day(opens);
    return text;
  };
  return arm;
}

/// Due from a day on because of a record.
Arm caused_arm(const Situation& now, const Procedure& procedure, const Interval& rule, Day from,
               const Record& cause, std::function<std::string()> reason) {
  Arm arm;
  arm.opens = arm.due = from;
  arm.cause = &cause;
  // A session is not driven in winter because the car came back in winter.
  if (procedure.is_session && !rule.season_months.empty()) {
    const int year = season_year(rule, from, 0);
    if (from > add_months(season_of(rule, year).end, rule.late_months)) {
      arm.opens = season_of(rule, year + 1).start;
      arm.due = season_of(rule, year + 1).end;
    }
  }
  arm.overdue_after = add_months(*arm.due, rule.late_months);
  arm.reason = std::move(reason);
  arm.state = state_on(now.on, arm);
  return arm;
}

std::string_view kind_words(std::string_view kind) {
  return kind == "part" ? "part replaced" : kind == "change" ? "change to the car" : kind;
}

}  // namespace

std::vector<Arm> arms_of(const Situation& now, const Procedure& procedure, const Interval& rule,
                         const Doings& doings) {
  std::vector<Arm> arms;
  arms.reserve(5);
  const Record* last = doings.last();
  if (rule.months && !rule.season_months.empty()) {
    arms.push_back(season_arm(now, procedure, rule, last));
  } else if (last != nullptr) {
    if (rule.months) arms.push_back(months_arm(now, rule, *last));
  } else if (rule.months || rule.distance_km) {
    Arm arm;
    arm.state = DueState::unknown;
    arm.reason = [&rule] {
      return fmt::format("no record of it, so nobody can say whether it is due ({})", every(rule));
    };
    arms.push_back(std::move(arm));
  }
  if (rule.distance_km && last != nullptr)
    if (auto arm = distance_arm(now, rule, *last)) arms.push_back(std::move(*arm));

  // What is saved of a session is often entered at home, after the check on the lot that closed it.
  const auto since_done = [&](const Record& cause) {
    if (doings.done == nullptr) return true;
    const bool by_day = cause.kind == "exercise" || cause.kind == "session";
    return by_day ? cause.day > doings.done->day : after(cause, *doings.done);
  };
  if (const Record* cause = newest_trigger(now.history, rule); cause && since_done(*cause))
    arms.push_back(caused_arm(now, procedure, rule, cause->day, *cause, [cause] {
      return fmt::format("needed after the {} of {}", kind_words(cause->kind),
                         format_day(cause->day));
    }));
  if (rule.after_storage_weeks && !now.storage().empty() && now.storage().back().end != nullptr) {
    const auto& stood = now.storage().back();
    const int weeks = stood.days(now.on) / 7;
    if (weeks > *rule.after_storage_weeks && since_done(*stood.end))
      arms.push_back(
          caused_arm(now, procedure, rule, stood.end->day, *stood.end, [&rule, &stood, weeks] {
            return fmt::format("the car stood for {} weeks until {} (asked for after more than {})",
                               weeks, format_day(stood.end->day), *rule.after_storage_weeks);
          }));
  }
  if (const Record* failed = doings.open_failure())
    arms.push_back(caused_arm(now, procedure, rule, failed->day, *failed, [failed] {
      return fmt::format("it came out as {} on {}: have the cause put right, then do it again",
                         failure_words(*failed), format_day(failed->day));
    }));
  return arms;
}

}  // namespace stopledger
