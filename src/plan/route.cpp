#include "plan/route.h"

#include <fmt/format.h>

#include <algorithm>

#include "plan/fluid_route.h"

namespace stopledger {
namespace {

// All common practice.
constexpr int return_storage_days = 28;  // longer: the return-to-use list first
constexpr int long_storage_days = 183;   // longer: static tests again
constexpr int proof_lasts_days = 366;    // of a static test or a fluid test

class Stations {
 public:
  Stations(RouteChoice& choice, const CarSheet& car, const History& history, const Standing& stood)
      : choice_(choice), car_(car), history_(history), stood_(stood) {}

  void add(const char* procedure, int earliest, int latest, const char* why,
           bool optional = false) {
    choice_.steps.push_back({procedure, earliest, latest, optional, why});
  }

  /// A station that a record of that kind makes needless: passed within a year, not before
  /// standing or work on the unit.
  void unless_done(const char* kind, const char* procedure, int earliest, int latest,
                   const char* why, bool optional = false) {
    const Record* done = history_.newest(kind);
    if (done != nullptr && field(*done, "result") != "fail" &&
        days_between(done->day, history_.on()) <= proof_lasts_days &&
        (stood_.begin == nullptr || after(*done, *stood_.begin)) &&
        (stood_.unit_work == nullptr || after(*done, *stood_.unit_work)))
      return;
    add(procedure, earliest, latest, why, optional);
  }

  void flush(int earliest, int latest, const char* why) {
    const UnitKind kind = car_.facts.unit_kind;
    if (kind == UnitKind::high_pressure_store || kind == UnitKind::booster_store)
      add("depressurise", earliest, latest, "the store is emptied before anything is opened (C3)");
    add("fluid-change", earliest, latest, why);
  }

  /// Opened or replaced: bled by its own routine first, unless that is done. False without such
  /// work.
  bool unit_bleed(int earliest, int latest) {
    if (stood_.unit_work == nullptr) return false;
    unless_done(
        "unit-bleed", "unit-bleed", earliest, latest,
        "the unit was opened or replaced: air sits where only its valves can move it (C18)");
    return true;
  }

  void store_test(int earliest, int latest) {
    const UnitKind kind = car_.facts.unit_kind;
    if (kind == UnitKind::high_pressure_store || kind == UnitKind::booster_store)
      unless_done("store-test", "store-test", earliest, latest,
                  "no session on a store that is not known to be sound");
  }

  void statics(int earliest, int latest) {
    const UnitKind kind = car_.facts.unit_kind;
    const char* why =
        "first exercise, long standing, work on the unit or neglect: proved without driving";
    if (kind != UnitKind::motor_piston) unless_done("pump-run", "pump-run", earliest, latest, why);
    unless_done("valve-test", "valve-test", earliest, latest, why);
    if (has_circuit_valves())
      unless_done(
          "pressure-test", "pressure-test", earliest, latest,
          "anti-lock stops never move isolation and prime valves; this does, without driving");
    unless_done("roll-check", "roll-check", earliest, latest,
                "sensors proved before they are trusted");
  }

  [[nodiscard]] bool has_circuit_valves() const {
    return car_.facts.has_isolation_valves.value_or(false);
  }

 private:
  RouteChoice& choice_;
  const CarSheet& car_;
  const History& history_;
  const Standing& stood_;
};

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

RouteChoice choose_route(const CarSheet& car, std::span<const Record> records, Day today, Day day) {
  const History history(records, day);
  RouteChoice choice;
  choice.first_exercise = history.newest("exercise") == nullptr;
  int limit = fluid_limit_months;
  for (const ManualRule& rule : car.rules)
    if (rule.procedure == "fluid-change" && rule.months) limit = *rule.months;
  const Standing stood = last_standing(history);
  if (stood.begin != nullptr) choice.stood_days = stood.days;
  choice.unit_work = stood.unit_work != nullptr;
  choose_by_fluid(choice, history, limit, stood);

  const bool neglected = choice.route == Route::unknown;
  Stations stations(choice, car, history, stood);
  if (car.facts.unit_kind == UnitKind::unknown || car.sheet.empty())
    stations.add("unit-sheet", -35, -35, "know the unit before anything is opened or driven");
  if (stood.still && stood.days > return_storage_days)
    stations.add("return-to-use", -35, -1, "the car is standing");
  if (neglected) {
    if (choice.flushes_done == 0) {
      stations.add("fluid-test", -35, -35,
                   "a sample before anything moves it; reservoir and caliper");
      stations.unless_done("hose-look", "hose-look", -35, -28, "rubber ages with the fluid");
      stations.flush(-35, -28, "no hard stop on old fluid");
    }
    stations.store_test(-28, -14);
    stations.statics(-28, -14);
    if (!stations.unit_bleed(-28, -14))
      stations.add("unit-bleed", -28, -7,
                   "with a tool that can: moves the fluid trapped in the unit", true);
    if (choice.flushes_done < 2)
      stations.flush(-14, -1, "what the tests brought out of the unit leaves the lines");
  } else {
    if (choice.route == Route::fluid_due && choice.flushes_done == 0)
      stations.flush(-14, -1, "hard stops should not be made on old, wet fluid");
    else if (choice.route == Route::young)
      stations.unless_done("fluid-test", "fluid-test", -14, -1,
                           "once a year, and before an exercise", true);
    stations.unit_bleed(-14, -1);
    stations.store_test(-14, 0);
    if (choice.first_exercise || choice.unit_work || stood.days > long_storage_days)
      stations.statics(-14, 0);
  }
  stations.add("lamp-code-check", 0, 0, "no session with a lamp on or a code open");
  stations.add("level-leak-pedal", 0, 0,
               "the reason not to drive, and the baseline for afterwards");
  stations.add("self-test", 0, 0, "pulling away, before any stop: is it heard?");
  stations.add("warm-up", 0, 0, "rust off, brakes even, driver settled");
  if (car.facts.channels != 1) stations.add("stop-fronts", 0, 0, "work and prove the front valves");
  stations.add("stop-rears", 0, 0, "work and prove the rear valves");
  stations.add("stop-response", 0, 0, "see that the wheels answer");
  if (stations.has_circuit_valves()) {
    stations.add("traction-start", 0, 0,
                 "only where the static pressure test cannot be done on this car", true);
    stations.add("sensor-zero", 0, 0, "before any stability work", true);
    stations.add("stability-gentle", 0, 0,
                 "last resort, with an instructor on a wet pad; the static pressure test is better",
                 true);
  }
  stations.add("after-run", 0, 0, "the session is not closed without it");
  if (choice.route != Route::young)
    stations.add("re-flush", 1, reflush_within_days,
                 "exercise moved the fluid trapped in the unit into the lines");
  stations.add("lay-up", reflush_within_days, 183, "when the car is put away for the winter", true);
  set_dates(choice, today, day);
  return choice;
}

void set_dates(RouteChoice& choice, Day today, Day day) {
  int lead_days = 0;
  for (const RouteStep& step : choice.steps)
    if (!step.optional) lead_days = std::max(lead_days, -step.latest_day);
  choice.session_day = std::max(day, add_days(today, lead_days));
  for (RouteStep& step : choice.steps) {
    // What could have begun before today begins today.
    step.from = std::max(today, add_days(choice.session_day, step.earliest_day));
    step.to = std::max(step.from, add_days(choice.session_day, step.latest_day));
  }
}

bool RouteChoice::gentle() const {
  return route == Route::unknown || first_exercise || unit_work ||
         stood_days.value_or(0) > long_storage_days;
}

std::string RouteChoice::circumstances() const {
  std::string text;
  const auto add = [&](const std::string& what) { text += (text.empty() ? "" : ", ") + what; };
  if (first_exercise) add("first exercise of this car");
  if (stood_days.value_or(0) > return_storage_days)
    add(fmt::format("after {} days of standing", *stood_days));
  if (unit_work) add("after work on the unit");
  return text;
}

}  // namespace stopledger
