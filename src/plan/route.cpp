#include "plan/route.h"

#include <fmt/format.h>

#include <algorithm>

namespace stopledger {
namespace {

constexpr int long_storage_days =
    183;  // more than six months: static tests again (common practice)
constexpr int neglect_storage_days = 731;  // more than two years: as unknown (common practice)
constexpr int reflush_within_days = 42;    // "within some weeks" (common practice)

const Record* newest(std::span<const Record> records, std::string_view kind, Day upto) {
  const Record* found = nullptr;
  for (const Record& record : records)
    if (record.current() && record.kind == kind && record.day <= upto &&
        (found == nullptr || found->day <= record.day))
      found = &record;
  return found;
}

std::string field(const Record& record, const std::string& name) {
  const auto at = record.fields.find(name);
  return at == record.fields.end() ? "" : at->second.written;
}

std::string cite(const Record& record) {
  return fmt::format("record {} of {}", record.id, format_day(record.day));
}

void add(RouteChoice& choice, const char* procedure, int earliest, int latest, const char* why) {
  choice.steps.push_back({procedure, earliest, latest, why});
}

void add_exercise(RouteChoice& choice, int day) {
  add(choice, "warm-up", day, day, "rust off, brakes even, driver settled");
  add(choice, "stop-fronts", day, day, "work and prove the front valves");
  add(choice, "stop-rears", day, day, "work and prove the rear valves");
  add(choice, "stop-response", day, day, "see that the wheels answer");
  add(choice, "after-run", day, day, "the session is not closed without it");
}

}  // namespace

std::string_view route_name(Route route) {
  switch (route) {
    case Route::young:
      return "young fluid";
    case Route::fluid_due:
      return "fluid due";
    case Route::unknown:
      break;
  }
  return "unknown or neglected";
}

RouteChoice choose_route(const CarSheet& car, std::span<const Record> records, Day day) {
  RouteChoice choice;
  choice.first_exercise = newest(records, "exercise", day) == nullptr;
  int limit = fluid_limit_months;
  for (const ManualRule& rule : car.rules)
    if (rule.procedure == "fluid-change" && rule.months) limit = *rule.months;

  const Record* begun = newest(records, "storage-begin", day);
  const Record* ended = newest(records, "storage-end", day);
  const Record* driven = newest(records, "exercise", day);
  if (begun != nullptr && (driven == nullptr || driven->day <= begun->day)) {
    const Day until = ended != nullptr && ended->day >= begun->day ? ended->day : day;
    choice.stood_days = days_between(begun->day, until);
  }
  const int stood = choice.stood_days.value_or(0);

  const Record* change = newest(records, "fluid-change", day);
  const Record* test = newest(records, "fluid-test", day);
  const bool failed = test != nullptr && field(*test, "result") == "fail" &&
                      (change == nullptr || change->day < test->day);
  if (change == nullptr) {
    choice.route = Route::unknown;
    choice.reason = "no fluid change is on record, so the fluid's age is unknown";
  } else if (stood > neglect_storage_days && change->day <= add_days(begun->day, stood)) {
    choice.route = Route::unknown;
    choice.reason = fmt::format("the car stood {} days after {}: fluid and unit count as unknown",
                                stood, cite(*change));
  } else if (add_months(change->day, 2 * limit) < day) {
    choice.route = Route::unknown;
    choice.reason = fmt::format("the fluid ({}) has missed a whole interval of {} months",
                                cite(*change), limit);
  } else if (failed) {
    choice.route = Route::fluid_due;
    choice.reason = fmt::format("the fluid failed its test ({})", cite(*test));
  } else if (add_months(change->day, limit - 6) < day) {
    choice.route = Route::fluid_due;
    choice.reason = fmt::format("the fluid ({}) passes its {} months on {}, within half a year",
                                cite(*change), limit, format_day(add_months(change->day, limit)));
  } else {
    choice.route = Route::young;
    choice.reason = fmt::format("the fluid ({}) is good until {}", cite(*change),
                                format_day(add_months(change->day, limit)));
  }

  const bool statics = choice.first_exercise || stood > long_storage_days;
  if (choice.route == Route::unknown) {
    add(choice, "fluid-test", 0, 0, "a sample before anything moves it, reservoir and a caliper");
    add(choice, "fluid-change", 0, 14, "no hard stop on old fluid");
    add(choice, "pump-run", 0, 14, "turns the pump while the car stands");
    add(choice, "valve-test", 0, 14, "moves every valve and loosens what has settled");
    add(choice, "fluid-change", 1, 28, "what the tests brought out of the unit leaves the lines");
    add(choice, "roll-check", 1, 35, "sensors proved before they are trusted");
    add_exercise(choice, 35);
  } else {
    int driving_day = 0;
    if (choice.route == Route::fluid_due) {
      add(choice, "fluid-change", 0, 14, "hard stops should not be made on old, wet fluid");
      driving_day = 14;
    }
    if (statics) {
      add(choice, "pump-run", 0, driving_day,
          "first exercise or long standing: static tests first");
      add(choice, "valve-test", 0, driving_day,
          "first exercise or long standing: static tests first");
      add(choice, "roll-check", 0, driving_day, "sensors proved before they are trusted");
    }
    add_exercise(choice, driving_day);
    if (choice.route == Route::fluid_due)
      add(choice, "re-flush", driving_day + 1, driving_day + reflush_within_days,
          "exercise moved the fluid trapped in the unit into the lines");
  }
  return choice;
}

}  // namespace stopledger
