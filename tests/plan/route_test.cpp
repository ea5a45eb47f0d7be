#include "plan/route.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "procedure/library.h"

using namespace stopledger;

namespace {

const Day today = *parse_day("2026-05-16");

Record fact(const char* kind, const char* day, const char* result = "pass") {
  static std::int64_t id = 0;
  Record record;
  record.id = ++id;
  record.uid = "r" + std::to_string(id);
  record.kind = kind;
  record.day = *parse_day(day);
  record.fields["result"].written = result;
  return record;
}

CarSheet route_car(UnitKind kind = UnitKind::two_valve) {
  CarSheet sheet;
  sheet.facts.unit_kind = kind;
  sheet.sheet["unit"].written = std::string(unit_kind_name(kind));
  return sheet;
}

RouteChoice route(const std::vector<Record>& records, const CarSheet& sheet = route_car()) {
  return choose_route(sheet, records, today, today);
}

int place(const RouteChoice& choice, std::string_view procedure) {
  for (std::size_t i = 0; i < choice.steps.size(); ++i)
    if (choice.steps[i].procedure == procedure) return static_cast<int>(i);
  return -1;
}

}  // namespace

TEST_CASE("the fluid's age chooses the route", "[plan][route]") {
  CHECK(route({}).route == Route::unknown);
  CHECK(route({fact("fluid-change", "2025-09-01")}).route == Route::young);
  // Two years from 2024-09-01 are over on 2026-09-01, within half a year of the session.
  CHECK(route({fact("fluid-change", "2024-09-01")}).route == Route::fluid_due);
  CHECK(route({fact("fluid-change", "2024-12-01")}).route == Route::young);
  CHECK(route({fact("fluid-change", "2023-05-16")}).route == Route::fluid_due);
  CHECK(route({fact("fluid-change", "2022-05-15")}).route ==
        Route::unknown);  // four years and a day
  CHECK(
      route({fact("fluid-change", "2025-09-01"), fact("fluid-test", "2026-04-01", "fail")}).route ==
      Route::fluid_due);
  CHECK(route({fact("fluid-change", "2025-01-10"), fact("fluid-test", "2025-08-01", "fail"),
               fact("fluid-change", "2025-09-01")})
            .route == Route::young);
  // The manual's own figure beats the common one.
  CarSheet yearly = route_car();
  yearly.rules.push_back({"fluid-change", 12, {}, "section 5"});
  CHECK(route({fact("fluid-change", "2025-09-01")}, yearly).route == Route::fluid_due);
}

TEST_CASE("years of standing make fluid and unit unknown", "[plan][route]") {
  const std::vector<Record> stood{
      fact("fluid-change", "2022-06-01"), fact("exercise", "2022-07-01"),
      fact("storage-begin", "2023-10-01"), fact("storage-end", "2026-05-01")};
  CHECK(route(stood).route == Route::unknown);
  CHECK(*route(stood).stood_days == 943);
  // Fresh fluid in the lines: the long route goes on with the static tests and the second flush.
  std::vector<Record> refilled = stood;
  refilled.push_back(fact("fluid-change", "2026-05-02"));
  const RouteChoice begun = route(refilled);
  CHECK(begun.route == Route::unknown);
  CHECK(begun.gentle());
  CHECK(place(begun, "fluid-test") == -1);
  CHECK(place(begun, "valve-test") >= 0);
  CHECK(place(begun, "fluid-change") > place(begun, "valve-test"));
  CHECK(place(begun, "re-flush") > place(begun, "after-run"));
  CHECK(place(begun, "return-to-use") == -1);  // its record is there
  refilled.push_back(fact("valve-test", "2026-05-09"));
  refilled.push_back(fact("fluid-change", "2026-05-15"));
  CHECK(place(route(refilled), "fluid-change") == -1);
  CHECK(place(route(refilled), "re-flush") >= 0);
  // Driven: from then on it is young fluid.
  refilled.push_back(fact("exercise", "2026-05-16", "exercised"));
  CHECK(route(refilled).route == Route::young);
  CHECK(route(refilled).circumstances().empty());

  const std::vector<Record> standing{fact("fluid-change", "2025-09-01"),
                                     fact("exercise", "2025-09-02"),
                                     fact("storage-begin", "2025-10-01")};
  CHECK(place(route(standing), "return-to-use") == 0);
  CHECK(place(route(standing), "valve-test") >= 0);  // more than half a year
  CHECK(route(standing).circumstances() == "after 227 days of standing");
}

TEST_CASE("a route that was begun is gone to its end", "[plan][route]") {
  // Sampled, then flushed: what was in the unit is not known yet.
  const std::vector<Record> sampled{fact("fluid-test", "2026-04-01", "fail"),
                                    fact("fluid-change", "2026-04-02")};
  CHECK(route(sampled).route == Route::unknown);
  CHECK(route(sampled).flushes_done == 1);
  // Changed a month late: the exercise and the re-flush are still to come.
  const std::vector<Record> due{fact("fluid-change", "2024-04-02"), fact("exercise", "2024-05-01"),
                                fact("fluid-change", "2026-05-02")};
  CHECK(route(due).route == Route::fluid_due);
  CHECK(place(route(due), "fluid-change") == -1);
  CHECK(place(route(due), "re-flush") >= 0);
  CHECK(route(due).session_day == today);
  // Five years late.
  const std::vector<Record> late{fact("fluid-change", "2019-04-02"), fact("exercise", "2019-05-01"),
                                 fact("fluid-change", "2026-05-02")};
  CHECK(route(late).route == Route::unknown);
  // Changed well before its time.
  const std::vector<Record> early{fact("fluid-change", "2025-04-02"),
                                  fact("exercise", "2025-05-01"),
                                  fact("fluid-change", "2026-04-02")};
  CHECK(route(early).route == Route::young);
}

TEST_CASE("work on the unit wants its bleed and the static tests first", "[plan][route]") {
  std::vector<Record> records{fact("fluid-change", "2025-09-01"), fact("valve-test", "2025-09-10"),
                              fact("roll-check", "2025-09-10"), fact("exercise", "2025-09-11")};
  CHECK_FALSE(route(records).gentle());
  Record repair = fact("repair", "2026-04-01");
  repair.fields["unit"] = {"yes", 1.0};
  records.push_back(repair);
  const RouteChoice choice = route(records);
  CHECK(choice.gentle());
  CHECK(choice.circumstances() == "after work on the unit");
  CHECK(place(choice, "unit-bleed") >= 0);
  CHECK(place(choice, "unit-bleed") < place(choice, "valve-test"));
  records.push_back(fact("unit-bleed", "2026-04-02"));
  records.push_back(fact("valve-test", "2026-04-02"));
  CHECK(place(route(records), "unit-bleed") == -1);
  CHECK(place(route(records), "valve-test") == -1);
}

TEST_CASE("the stations are dated from today and the day planned", "[plan][route]") {
  const RouteChoice unknown = route({});
  const auto dated = [](const RouteChoice& choice, std::string_view procedure, int nth = 0) {
    for (const RouteStep& step : choice.steps)
      if (step.procedure == procedure && nth-- == 0)
        return format_day(step.from) + " " + format_day(step.to);
    return std::string();
  };
  // Five weeks lead to the first gentle stops; 2026-05-16 + 35 days is 2026-06-20.
  CHECK(dated(unknown, "fluid-test") == "2026-05-16 2026-05-16");
  CHECK(dated(unknown, "fluid-change", 0) == "2026-05-16 2026-05-23");
  CHECK(dated(unknown, "valve-test") == "2026-05-23 2026-06-06");
  CHECK(dated(unknown, "fluid-change", 1) == "2026-06-06 2026-06-19");
  CHECK(dated(unknown, "stop-fronts") == "2026-06-20 2026-06-20");
  CHECK(dated(unknown, "after-run") == "2026-06-20 2026-06-20");
  CHECK(dated(unknown, "re-flush") == "2026-06-21 2026-08-01");  // six weeks
  // A later day planned moves all of it.
  const RouteChoice later = choose_route(route_car(), {}, today, *parse_day("2026-08-01"));
  CHECK(dated(later, "fluid-test") == "2026-06-27 2026-06-27");
  CHECK(dated(later, "re-flush") == "2026-08-02 2026-09-12");
  for (const RouteChoice& choice : {unknown, later, route({fact("fluid-change", "2025-09-01")})}) {
    Day before = today;
    for (const RouteStep& step : choice.steps) {
      INFO(step.procedure);
      CHECK(step.from >= before);
      CHECK(step.to >= step.from);
      before = step.from;
    }
  }
}

TEST_CASE("each route has its order", "[plan][route]") {
  const RouteChoice unknown = route({});
  // sample, flush, static tests, second flush, gentle stops, re-flush
  CHECK(place(unknown, "fluid-test") < place(unknown, "fluid-change"));
  CHECK(place(unknown, "fluid-change") < place(unknown, "valve-test"));
  const auto flushes =
      std::count_if(unknown.steps.begin(), unknown.steps.end(),
                    [](const RouteStep& s) { return s.procedure == "fluid-change"; });
  CHECK(flushes == 2);
  CHECK(place(unknown, "valve-test") < place(unknown, "stop-fronts"));
  CHECK(place(unknown, "after-run") < place(unknown, "re-flush"));
  // Its stations take four weeks, so a session today is out of the question.
  CHECK(days_between(today, unknown.session_day) >= 28);

  const RouteChoice due =
      route({fact("fluid-change", "2024-09-01"), fact("exercise", "2025-09-01")});
  CHECK(place(due, "fluid-change") < place(due, "stop-fronts"));
  CHECK(place(due, "stop-fronts") < place(due, "re-flush"));
  CHECK(place(due, "valve-test") == -1);

  const RouteChoice young =
      route({fact("fluid-change", "2025-09-01"), fact("exercise", "2025-09-02")});
  CHECK(place(young, "fluid-change") == -1);
  CHECK(place(young, "re-flush") == -1);
  CHECK(young.session_day == today);
  for (const RouteChoice& choice : {unknown, due, young}) {
    CHECK(place(choice, "lamp-code-check") < place(choice, "stop-fronts"));
    CHECK(place(choice, "level-leak-pedal") < place(choice, "stop-fronts"));
    CHECK(place(choice, "after-run") > place(choice, "stop-response"));
  }
}

TEST_CASE("a first exercise needs the static tests, unless they are done", "[plan][route]") {
  const Record fluid = fact("fluid-change", "2025-09-01");
  CHECK(place(route({fluid}), "valve-test") >= 0);
  CHECK(place(route({fluid, fact("valve-test", "2026-04-01")}), "valve-test") == -1);
  CHECK(place(route({fluid, fact("valve-test", "2026-04-01", "fail")}), "valve-test") >= 0);
  CHECK(place(route({fluid, fact("valve-test", "2025-04-01")}), "valve-test") >= 0);
}

TEST_CASE("a high-pressure store is emptied before every opening", "[plan][route]") {
  const RouteChoice choice = route({}, route_car(UnitKind::high_pressure_store));
  for (std::size_t i = 0; i < choice.steps.size(); ++i)
    if (choice.steps[i].procedure == "fluid-change")
      CHECK(choice.steps[i - 1].procedure == "depressurise");
  CHECK(place(choice, "store-test") >= 0);
  CHECK(place(route({}, route_car(UnitKind::motor_piston)), "pump-run") == -1);
  CarSheet rears_only = route_car();
  rears_only.facts.channels = 1;
  CHECK(place(route({}, rears_only), "stop-fronts") == -1);
}

TEST_CASE("every procedure of the library is reachable from some plan", "[plan][route]") {
  std::vector<RouteChoice> choices;
  for (const UnitKind kind :
       {UnitKind::unknown, UnitKind::two_valve, UnitKind::high_pressure_store}) {
    CarSheet sheet = route_car(kind);
    sheet.facts.has_isolation_valves = true;
    choices.push_back(route({}, sheet));
    choices.push_back(
        route({fact("fluid-change", "2025-09-01"), fact("storage-begin", "2025-10-01")}, sheet));
  }
  const auto library = load_procedures();
  for (const Procedure& procedure : library) {
    INFO(procedure.id);
    CHECK(std::any_of(choices.begin(), choices.end(),
                      [&](const RouteChoice& choice) { return place(choice, procedure.id) >= 0; }));
  }
  // And no route leads to a procedure that is not there.
  for (const RouteChoice& choice : choices)
    for (const RouteStep& step : choice.steps) {
      INFO(step.procedure);
      CHECK(look_up(library, step.procedure) != nullptr);
    }
}
