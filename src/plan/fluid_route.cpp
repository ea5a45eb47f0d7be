#include "plan/fluid_route.h"

#include <fmt/format.h>

namespace stopledger {
namespace {

// Common practice.
constexpr int neglect_storage_days = 731;  // longer: fluid and unit count as unknown
constexpr int due_within_months = 6;       // due this season rather than next
constexpr int flushes_belong_days = 92;    // chosen: the stations of the long route take five weeks

std::string cite(const Record& record) {
  return fmt::format("record {} of {}", record.id, format_day(record.day));
}

// The changes of fluid since the last exercise that belong together, and what was there before.
struct Flushes {
  const Record* first = nullptr;
  const Record* before = nullptr;  ///< nothing: unknown
  int count = 0;
};

Flushes newest_flushes(const History& history) {
  const auto changes = history.of("fluid-change");
  const Record* driven = history.newest("exercise");
  Flushes flushes;
  for (auto change = changes.rbegin(); change != changes.rend(); ++change) {
    if (flushes.first != nullptr &&
        days_between((*change)->day, flushes.first->day) > flushes_belong_days) {
      flushes.before = *change;
      break;
    }
    if (driven != nullptr && !after(**change, *driven)) {
      flushes.before = *change;
      break;
    }
    flushes.first = *change;
    ++flushes.count;
  }
  return flushes;
}

// A route that was begun is gone to its end: fresh fluid in the lines does not make the fluid that
// is trapped in the unit young.
bool choose_begun(RouteChoice& choice, const History& history, int limit, const Standing& stood) {
  const Flushes flushes = newest_flushes(history);
  if (flushes.count == 0) return false;
  const Record& first = *flushes.first;
  const auto goes_on = [&](Route route, const std::string& was) {
    choice.route = route;
    choice.flushes_done = flushes.count;
    choice.reason =
        fmt::format("{} when it was changed ({}), and nothing was driven since", was, cite(first));
    return true;
  };
  if (stood.days > neglect_storage_days && after(first, *stood.begin))
    return goes_on(Route::unknown, fmt::format("the car had stood {} days",
                                               days_between(stood.begin->day, first.day)));
  if (flushes.before == nullptr) {
    const Record* sample = nullptr;
    for (const Record* test : history.of("fluid-test"))
      if (!after(*test, first) && days_between(test->day, first.day) <= flushes_belong_days)
        sample = test;
    return sample != nullptr && goes_on(Route::unknown, "the fluid was of unknown age");
  }
  if (add_months(flushes.before->day, 2 * limit) < first.day)
    return goes_on(Route::unknown, "the fluid had missed a whole interval");
  return add_months(flushes.before->day, limit) < add_months(first.day, due_within_months) &&
         goes_on(Route::fluid_due, "the fluid was due");
}

}  // namespace

Standing last_standing(const History& history) {
  const Record* driven = history.newest("exercise");
  const auto since = [&](const Record& record) { return !driven || after(record, *driven); };
  Standing standing;
  if (const auto stood = storages(history); !stood.empty() && since(*stood.back().begin)) {
    standing.days = stood.back().days(history.on());
    standing.begin = stood.back().begin;
    standing.still = stood.back().end == nullptr;
  }
  for (const char* kind : {"repair", "part"})
    for (const Record* record : history.of(kind))
      if (flag(*record, "unit") && since(*record) &&
          (standing.unit_work == nullptr || after(*record, *standing.unit_work)))
        standing.unit_work = record;
  return standing;
}

void choose_by_fluid(RouteChoice& choice, const History& history, int limit,
                     const Standing& stood) {
  const Record* change = history.newest("fluid-change");
  const Record* test = history.newest("fluid-test");
  if (change == nullptr) {
    choice.reason = "no fluid change is on record, so the fluid's age is unknown";
    return;
  }
  const Day due = add_months(change->day, limit);
  if (stood.days > neglect_storage_days && !after(*change, *stood.begin)) {
    choice.reason = fmt::format("the car stood {} days after {}: fluid and unit count as unknown",
                                stood.days, cite(*change));
  } else if (add_months(change->day, 2 * limit) < history.on()) {
    choice.reason = fmt::format("the fluid ({}) has missed a whole interval of {} months",
                                cite(*change), limit);
  } else if (test != nullptr && field(*test, "result") == "fail" && after(*test, *change)) {
    choice.route = Route::fluid_due;
    choice.reason = fmt::format("the fluid failed its test ({})", cite(*test));
  } else if (due < add_months(history.on(), due_within_months)) {
    choice.route = Route::fluid_due;
    choice.reason = fmt::format("the fluid ({}) reaches its {} months on {}", cite(*change), limit,
                                format_day(due));
  } else if (!choose_begun(choice, history, limit, stood)) {
    choice.route = Route::young;
    choice.reason = fmt::format("the fluid ({}) is good until {}", cite(*change), format_day(due));
  }
}

}  // namespace stopledger
