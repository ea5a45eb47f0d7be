#include "schedule/due.h"

#include <catch2/catch.hpp>

#include "schedule/car.h"

using namespace stopledger;
using namespace stopledger::testing;

namespace {

Interval yearly() {
  Interval i;
  i.months = 12;
  i.early_months = 2;
  i.late_months = 1;
  return i;
}

Interval spring() {
  Interval i;
  i.months = 12;
  i.season_months = {4, 5, 6};
  i.early_months = 3;
  i.late_months = 3;
  i.keeps_season = true;
  return i;
}

DueItem one(const Interval& interval, const std::vector<Record>& records, const char* today,
            const CarSheet& sheet = car()) {
  const auto p = procedure("task", "fluid-test", interval);
  const auto items = what_is_due(sheet, records, std::vector{p}, day(today));
  REQUIRE(items.size() == 1);
  return items.front();
}

}  // namespace

TEST_CASE("a rule in months has a window with tolerances on both sides", "[schedule][due]") {
  // Done 2025-03-31: due 2026-03-31, opens 2 months sooner, tolerated 1 month longer.
  const std::vector records{record("fluid-test", "2025-03-31")};
  CHECK(one(yearly(), records, "2026-01-30").state == DueState::later);
  CHECK(one(yearly(), records, "2026-01-31").state == DueState::due);
  CHECK(one(yearly(), records, "2026-04-30").state == DueState::due);
  CHECK(one(yearly(), records, "2026-05-01").state == DueState::overdue);
  CHECK(format_day(*one(yearly(), records, "2026-05-01").due) == "2026-03-31");
}

TEST_CASE("done early restarts the clock from that day", "[schedule][due]") {
  const std::vector records{record("fluid-test", "2024-05-01"), record("fluid-test", "2025-03-01")};
  CHECK(format_day(*one(yearly(), records, "2025-06-01").due) == "2026-03-01");
}

TEST_CASE("without a record the state is unknown and never done", "[schedule][due]") {
  const auto item = one(yearly(), {}, "2026-06-01");
  CHECK(item.state == DueState::unknown);
  CHECK_FALSE(item.last);
  CHECK_THAT(item.reason, Catch::Contains("no record"));
}

TEST_CASE("superseded, removed and later records do not count", "[schedule][due]") {
  auto superseded = record("fluid-test", "2026-01-01");
  superseded.superseded_by = "x";
  auto removed = record("fluid-test", "2026-01-01");
  removed.removed = true;
  CHECK(one(yearly(), {superseded, removed, record("fluid-test", "2026-07-01")}, "2026-06-01")
            .state == DueState::unknown);
}

TEST_CASE("a seasonal task done in May is next due next spring", "[schedule][due][season]") {
  const std::vector records{record("fluid-test", "2026-05-20")};
  const auto item = one(spring(), records, "2026-06-01");
  CHECK(item.state == DueState::later);
  CHECK(format_day(*item.opens) == "2027-04-01");
  CHECK(format_day(*item.due) == "2027-06-30");
}

TEST_CASE("done early or late, the season stays", "[schedule][due][season]") {
  // Three months early (January) counts for this spring, November for the past one.
  CHECK(format_day(*one(spring(), {record("fluid-test", "2026-01-01")}, "2026-02-01").opens) ==
        "2027-04-01");
  CHECK(format_day(*one(spring(), {record("fluid-test", "2025-12-31")}, "2026-02-01").opens) ==
        "2026-04-01");
  CHECK(format_day(*one(spring(), {record("fluid-test", "2026-11-05")}, "2026-12-01").opens) ==
        "2027-04-01");
}

TEST_CASE("a season that went by is overdue in the next one, not in winter",
          "[schedule][due][season]") {
  const std::vector records{record("fluid-test", "2024-05-20")};  // turn: spring 2025
  CHECK(one(spring(), records, "2025-05-01").state == DueState::due);
  CHECK(one(spring(), records, "2025-09-30").state == DueState::due);  // late tolerance
  const auto winter = one(spring(), records, "2025-12-24");
  CHECK(winter.state == DueState::later);
  CHECK(format_day(*winter.opens) == "2026-04-01");
  CHECK_THAT(winter.reason, Catch::Contains("2025 went by"));
  CHECK(one(spring(), records, "2026-04-01").state == DueState::overdue);
  CHECK(one(spring(), records, "2026-08-01").state == DueState::overdue);
  CHECK(one(spring(), records, "2026-10-01").state == DueState::later);
}

TEST_CASE("a season across the new year is one season", "[schedule][due][season]") {
  auto summer = spring();
  summer.season_months = {11, 12, 1};
  const auto item = one(summer, {record("fluid-test", "2026-01-10")}, "2026-02-01");
  CHECK(format_day(*item.opens) == "2026-11-01");
  CHECK(format_day(*item.due) == "2027-01-31");
}

TEST_CASE("in the southern half of the world a season is half a year later",
          "[schedule][due][season]") {
  auto south = car();
  south.southern = true;
  // April to June is autumn there; its spring is October to December.
  const std::vector records{record("fluid-test", "2025-11-10")};
  const auto item = one(spring(), records, "2026-07-01", south);
  CHECK(item.state == DueState::later);
  CHECK(format_day(*item.opens) == "2026-10-01");
  CHECK(format_day(*item.due) == "2026-12-31");
  CHECK(one(spring(), records, "2026-10-01", south).state == DueState::due);
  // The manual's rule keeps the season too.
  south.rules = {{.procedure = "task", .months = 24, .distance_km = {}, .where = "page 3"}};
  CHECK(format_day(*one(spring(), records, "2026-07-01", south).opens) == "2027-10-01");
  // A season that goes across the new year in the south is one season.
  Interval autumn = spring();
  autumn.season_months = {5, 6, 7};
  south.rules.clear();
  CHECK(format_day(*one(autumn, records, "2026-07-01", south).due) == "2027-01-31");
}

TEST_CASE("a postponed season keeps its reason and waits for the next", "[schedule][due][season]") {
  const std::vector records{
      record("fluid-test", "2025-05-20"),
      record("postponed", "2026-06-15", {{"procedure", text("task")}, {"reason", text("rain")}})};
  const auto item = one(spring(), records, "2026-06-20");
  CHECK(item.state == DueState::later);
  CHECK(format_day(*item.opens) == "2027-04-01");
  CHECK_THAT(item.reason, Catch::Contains("put off on 2026-06-15: rain"));
}

TEST_CASE("standing longer than the rule allows makes it due on return", "[schedule][due]") {
  auto rule = yearly();
  rule.after_storage_weeks = 4;
  std::vector records{record("fluid-test", "2025-10-01"), record("storage-begin", "2025-11-01"),
                      record("storage-end", "2026-03-01")};
  const auto item = one(rule, records, "2026-03-02");
  CHECK(item.state == DueState::due);
  CHECK(item.cause_record == records[2].uid);
  CHECK(one(rule, records, "2026-04-02").state == DueState::overdue);
  records.push_back(record("fluid-test", "2026-03-03"));
  CHECK(one(rule, records, "2026-04-02").state == DueState::later);
  // Four weeks to the day is not longer than four weeks.
  CHECK(one(rule,
            {record("fluid-test", "2025-10-01"), record("storage-begin", "2026-01-01"),
             record("storage-end", "2026-01-29")},
            "2026-01-30")
            .state == DueState::later);
}

TEST_CASE("a rule that rests in storage waits for the return", "[schedule][due]") {
  auto p = procedure("task", "fluid-test", yearly());
  const std::vector records{record("fluid-test", "2024-10-01"),
                            record("storage-begin", "2025-11-01")};
  CHECK(what_is_due(car(), records, std::vector{p}, day("2026-03-02"))[0].state ==
        DueState::overdue);
  p.rests_in_storage = true;
  CHECK(what_is_due(car(), records, std::vector{p}, day("2026-03-02"))[0].state == DueState::later);
}

TEST_CASE("a trigger is a kind, a flag or a value", "[schedule][due]") {
  auto rule = Interval{};
  rule.after_records = {"part:unit", "after-run:result=re-flush"};
  const auto p = procedure("task", "re-flush", rule);
  const auto items = [&](const std::vector<Record>& records) {
    return what_is_due(car(), records, std::vector{p}, day("2026-03-02"));
  };
  CHECK(items({}).empty());
  CHECK(items({record("part", "2026-03-01", {{"part", text("hose")}})}).empty());
  CHECK(items({record("after-run", "2026-03-01", {{"result", text("clean")}})}).empty());
  const std::vector asked{record("after-run", "2026-03-01", {{"result", text("re-flush")}})};
  REQUIRE(items(asked).size() == 1);
  CHECK(items(asked)[0].state == DueState::overdue);  // no tolerance: due on the day
  CHECK(items(asked)[0].cause_record == asked[0].uid);
  CHECK(items({record("part", "2026-03-01", {{"unit", yes()}})}).size() == 1);
  CHECK(items({record("part", "2026-03-01", {{"unit", yes()}}), record("re-flush", "2026-03-01")})
            .empty());
}

TEST_CASE("the after-run check on the day closes what was saved later", "[schedule][due]") {
  auto rule = Interval{};
  rule.after_records = {"exercise"};
  const auto p = procedure("after-run", "after-run", rule);
  const std::vector records{record("after-run", "2026-05-01", {{"result", text("clean")}}),
                            record("exercise", "2026-05-01")};
  CHECK(what_is_due(car(), records, std::vector{p}, day("2026-05-02")).empty());
}

TEST_CASE("a failed test stays due until it passes", "[schedule][due]") {
  std::vector records{record("fluid-test", "2026-01-01", {{"result", text("fail")}})};
  CHECK(one(yearly(), records, "2026-01-15").state == DueState::due);
  CHECK(one(yearly(), records, "2026-02-15").state == DueState::overdue);
  records.push_back(record("fluid-test", "2026-02-20", {{"result", text("pass")}}));
  CHECK(one(yearly(), records, "2026-02-21").state == DueState::later);
}

TEST_CASE("a run that the log could not judge does not count as done", "[schedule][due]") {
  auto p = procedure("stop-response", "exercise", yearly());
  p.expectation = Expectation{};
  for (const char* result : {"unseen", "idle", "commanded"}) {
    const auto items = what_is_due(
        car(), std::vector{record("exercise", "2026-05-01", {{"result", text(result)}})},
        std::vector{p}, day("2026-05-02"));
    REQUIRE(items.size() == 1);
    CHECK(items[0].state == DueState::unknown);
    CHECK_THAT(items[0].reason, Catch::Contains(std::string("came out as ") + result));
  }
  p.expectation->needs_wheel_answer = false;
  CHECK(what_is_due(car(),
                    std::vector{record("exercise", "2026-05-01", {{"result", text("commanded")}})},
                    std::vector{p}, day("2026-05-02"))[0]
            .state == DueState::later);
}

TEST_CASE("an exercise that names a procedure counts for that one only", "[schedule][due]") {
  const std::vector ps{procedure("stop-fronts", "exercise", yearly()),
                       procedure("stop-rears", "exercise", yearly())};
  const std::vector records{
      record("exercise", "2026-05-01",
             {{"result", text("exercised")}, {"procedure", text("stop-response, stop-fronts")}})};
  const auto items = what_is_due(car(), records, ps, day("2026-05-02"));
  REQUIRE(items.size() == 2);
  CHECK(items[0].procedure == "stop-rears");
  CHECK(items[0].state == DueState::unknown);
  CHECK(items[1].state == DueState::later);
}

TEST_CASE("the manual's figure beats common practice", "[schedule][due][manual]") {
  auto sheet = car();
  sheet.rules.push_back({.procedure = "task", .months = 36, .distance_km = {}, .where = "B-12"});
  auto rule = yearly();
  rule.distance_km = 30000.0;
  const auto item = one(rule, {record("fluid-test", "2024-01-01")}, "2026-01-01", sheet);
  CHECK(format_day(*item.due) == "2027-01-01");
  CHECK(item.basis == "manual, B-12");
  // An odd number of months can't be a yearly window.
  sheet.rules[0].months = 18;
  CHECK(format_day(*one(spring(), {record("fluid-test", "2026-05-20")}, "2026-06-01", sheet).due) ==
        "2027-11-20");
}

TEST_CASE("distance or months, whichever comes first", "[schedule][due][distance]") {
  auto rule = yearly();
  rule.distance_km = 6000.0;
  // 10 km a day from the first of the year; the test at 1000 km, so 7000 km is day 700 from there.
  std::vector<Record> records;
  for (int i = 0; i <= 10; ++i) {
    auto r = record("odometer", "2025-01-01", {}, 10.0 * 30.0 * i);
    r.day = add_days(r.day, 30 * i);
    records.push_back(r);
  }
  records.push_back(record("fluid-test", "2025-04-11", {}, 1000.0));
  const auto slow = one(rule, records, "2025-10-30");
  CHECK(format_day(*slow.due) == "2026-04-11");  // 12 months come first
  rule.distance_km = 3000.0;
  const auto fast = one(rule, records, "2025-10-30");
  // 4000 km at 10 km a day: 400 days from 2025-01-01.
  CHECK(fast.due == add_days(day("2025-01-01"), 400));
  CHECK(fast.due_low == fast.due);  // the readings lie on a line
  CHECK_THAT(fast.reason, Catch::Contains("304 km a month"));
}

TEST_CASE("an odometer past the distance makes it overdue after the tolerance",
          "[schedule][due][distance]") {
  Interval rule;
  rule.distance_km = 3000.0;
  rule.late_months = 1;
  const std::vector records{record("fluid-test", "2025-01-01", {}, 50000.0),
                            record("odometer", "2025-07-01", {}, 53010.0)};
  CHECK(one(rule, records, "2025-07-02").state == DueState::due);
  CHECK(one(rule, records, "2025-08-02").state == DueState::overdue);
}

TEST_CASE("most urgent first, and a sold car has nothing due", "[schedule][due]") {
  const std::vector ps{procedure("a-later", "fluid-test", yearly()),
                       procedure("b-due", "pump-run", yearly()),
                       procedure("c-unknown", "hose-look", yearly()),
                       procedure("d-overdue", "unit-bleed", yearly())};
  const std::vector records{record("fluid-test", "2026-05-01"), record("pump-run", "2025-06-01"),
                            record("unit-bleed", "2024-01-01")};
  auto sheet = car();
  const auto items = what_is_due(sheet, records, ps, day("2026-06-01"));
  REQUIRE(items.size() == 4);
  CHECK(items[0].procedure == "d-overdue");
  CHECK(items[1].procedure == "c-unknown");
  CHECK(items[2].procedure == "b-due");
  CHECK(items[3].procedure == "a-later");
  sheet.state = CarState::sold;
  CHECK(what_is_due(sheet, records, ps, day("2026-06-01")).empty());
}

TEST_CASE("procedures for other units give no item", "[schedule][due]") {
  auto p = procedure("task", "store-test", yearly());
  p.unit_kinds = {UnitKind::high_pressure_store};
  CHECK(what_is_due(car(), {}, std::vector{p}, day("2026-06-01")).empty());
  auto circuit = procedure("task", "pressure-test", yearly());
  circuit.needs_circuit_valves = true;
  CHECK(what_is_due(car(), {}, std::vector{circuit}, day("2026-06-01")).empty());
}
