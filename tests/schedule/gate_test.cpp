#include "schedule/gate.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "schedule/car.h"

using namespace stopledger;
using namespace stopledger::testing;

namespace {

Interval months(int count) {
  Interval i;
  i.months = count;
  return i;
}

/// A session that asks for a lamp check of the day, fluid in date and a valve test before the
/// first.
std::vector<Procedure> gated_rules() {
  auto stop = procedure("stop-fronts", "exercise", months(12));
  stop.is_session = true;
  stop.prerequisites = {
      {.procedure = "lamp-code-check", .hard = true, .within_days = 0, .reason = "lamps first"},
      {.procedure = "fluid-change", .hard = true, .within_days = {}, .reason = "fresh fluid"},
      {.procedure = "valve-test",
       .hard = true,
       .within_days = {},
       .first_ever_only = true,
       .reason = "proved first"}};
  auto fluid = procedure("fluid-change", "fluid-change", months(24));
  fluid.opens_system = true;
  return {stop, fluid, procedure("lamp-code-check", "lamp-check", months(1)),
          procedure("valve-test", "valve-test", months(12))};
}

std::vector<Block> stop_blocks(const std::vector<Record>& records, const CarSheet& sheet = car(),
                               std::size_t which = 0, const char* on = "2026-05-10") {
  const auto ps = gated_rules();
  return blocks(sheet, records, ps, ps[which], day(on));
}

/// Everything in order on 2026-05-10.
std::vector<Record> in_order() {
  return {record("fluid-change", "2025-09-01", {{"grade", text("DOT 4")}}),
          record("valve-test", "2026-04-01", {{"result", text("pass")}}),
          record("lamp-check", "2026-05-10", {{"result", text("pass")}})};
}

/// `extra` was entered last.
std::vector<Block> with(Record extra, const CarSheet& sheet = car()) {
  auto records = in_order();
  extra.id += 1000000;
  records.push_back(std::move(extra));
  return stop_blocks(records, sheet);
}

const Block* find(const std::vector<Block>& all, const std::string& id) {
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Block& b) { return b.id == id; });
  return found == all.end() ? nullptr : &*found;
}

}  // namespace

TEST_CASE("nothing blocks a car in order", "[schedule][gate]") {
  CHECK(stop_blocks(in_order()).empty());
}

TEST_CASE("lamp, leak, level and pedal block and can't be overridden", "[schedule][gate]") {
  struct Case {
    Record record;
    std::string id;
  };
  for (const Case& c :
       {Case{
            record("lamp-check", "2026-05-10", {{"result", text("fail")}, {"codes", text("pump")}}),
            "lamp"},
        Case{record("after-run", "2026-05-10", {{"result", text("clean")}, {"lamp", yes()}}),
             "lamp"},
        Case{record("level-check", "2026-05-10", {{"result", text("fail")}, {"leaks", yes()}}),
             "leak"},
        Case{record("level-check", "2026-05-10",
                    {{"result", text("fail")}, {"level", {"-5 %", -5.0}}}),
             "level"},
        Case{record("level-check", "2026-05-10",
                    {{"result", text("fail")}, {"sink", {"8 mm", 8.0}}}),
             "pedal"},
        Case{record("level-check", "2026-05-10", {{"result", text("fail")}}), "pedal"}}) {
    INFO(c.id);
    const auto all = with(c.record);
    const auto* block = find(all, c.id);
    REQUIRE(block != nullptr);
    CHECK(block->hard);
    CHECK_FALSE(block->may_override);
    CHECK(block->record == c.record.uid);
    CHECK_FALSE(block->clears.empty());
  }
}

TEST_CASE("a fault blocks until a repair names it", "[schedule][gate]") {
  auto records = in_order();
  records.push_back(record("fault", "2026-05-01", {{"what", text("clicks")}}));
  const auto fault = records.back().uid;
  records.push_back(record("repair", "2026-05-02", {{"what", text("something else")}}));
  const auto all = stop_blocks(records);
  REQUIRE(find(all, "fault") != nullptr);
  CHECK(find(all, "fault")->record == fault);
  CHECK_THAT(find(all, "fault")->reason, Catch::Contains("clicks"));
  records.push_back(record("repair", "2026-05-03", {{"fault", text(fault.c_str())}}));
  CHECK(find(stop_blocks(records), "fault") == nullptr);
}

TEST_CASE("fluid blocks when it is unknown, overdue, failed or silicone", "[schedule][gate]") {
  auto records = in_order();
  records[0].day = day("2024-01-01");
  CHECK(find(stop_blocks(records), "before")->procedure == "fluid-change");
  records.erase(records.begin());
  const auto unknown = stop_blocks(records);
  REQUIRE(find(unknown, "before") != nullptr);
  CHECK_THAT(find(unknown, "before")->reason, Catch::Contains("no record"));
  CHECK(find(with(record("fluid-test", "2026-05-01", {{"result", text("fail")}})), "fluid-test"));
  auto silicone = car();
  silicone.fluid_grade = "DOT 5";
  const auto all = stop_blocks(in_order(), silicone);
  REQUIRE(find(all, "fluid-grade"));
  CHECK_FALSE(find(all, "fluid-grade")->may_override);
}

TEST_CASE("a failed static test or an unanswered corner blocks until proved", "[schedule][gate]") {
  auto records = in_order();
  records.push_back(record("valve-test", "2026-05-02", {{"result", text("fail")}}));
  CHECK(find(stop_blocks(records), "failed-test"));
  records.push_back(record("valve-test", "2026-05-05", {{"result", text("pass")}}));
  CHECK(stop_blocks(records).empty());
  records.push_back(record("exercise", "2026-05-06", {{"result", text("suspect")}}));
  records.push_back(record("after-run", "2026-05-06", {{"result", text("clean")}}));
  CHECK(find(stop_blocks(records), "not-answered"));
  records.push_back(record("repair", "2026-05-07", {{"what", text("valve")}}));
  CHECK(find(stop_blocks(records), "not-answered") == nullptr);
}

TEST_CASE("a corner recorded as not in order blocks as a failed test does", "[schedule][gate]") {
  auto records = in_order();
  records.push_back(
      record("valve-test", "2026-05-02", {{"result", text("pass")}, {"rl.release", text("no")}}));
  const auto all = stop_blocks(records);
  REQUIRE(find(all, "failed-test"));
  CHECK_THAT(find(all, "failed-test")->reason, Catch::Contains("RL: release no on 2026-05-02"));
  // Nor does such a test clear a corner that did not answer in a session.
  records.push_back(record("exercise", "2026-05-03", {{"result", text("suspect")}}));
  records.push_back(record("after-run", "2026-05-03", {{"result", text("clean")}}));
  records.push_back(
      record("valve-test", "2026-05-04", {{"result", text("pass")}, {"fr.free", text("no")}}));
  CHECK(find(stop_blocks(records), "not-answered"));
  // The newest counts.
  records.push_back(
      record("valve-test", "2026-05-05", {{"result", text("pass")}, {"fr.free", yes()}}));
  CHECK(stop_blocks(records).empty());
}

TEST_CASE("a session that was not closed blocks the next", "[schedule][gate]") {
  CHECK(find(with(record("session", "2026-05-03")), "after-run"));
  auto records = in_order();
  records.push_back(record("session", "2026-05-03"));
  records.push_back(record("after-run", "2026-05-03", {{"result", text("clean")}}));
  CHECK(stop_blocks(records).empty());
}

TEST_CASE("checks of the day are told apart from what blocks already", "[schedule][gate]") {
  auto records = in_order();
  records.pop_back();
  const auto all = stop_blocks(records);
  REQUIRE(all.size() == 1);
  CHECK(all[0].same_day);
  CHECK_FALSE(all[0].may_override);
}

TEST_CASE("the first exercise, a long rest and a repaired unit ask for the static test",
          "[schedule][gate]") {
  auto records = in_order();
  records.erase(records.begin() + 1);
  CHECK(find(stop_blocks(records), "before")->procedure == "valve-test");
  records.push_back(record("exercise", "2023-05-01", {{"result", text("exercised")}}));
  records.push_back(record("after-run", "2023-05-01", {{"result", text("clean")}}));
  CHECK(stop_blocks(records).empty());
  records.push_back(record("storage-begin", "2023-06-01"));
  records.push_back(record("storage-end", "2026-04-01"));  // more than two years
  CHECK(find(stop_blocks(records), "before")->procedure == "valve-test");
  records.push_back(record("valve-test", "2026-04-02", {{"result", text("pass")}}));
  CHECK(stop_blocks(records).empty());
  records.push_back(record("part", "2026-04-03", {{"part", text("unit")}, {"unit", yes()}}));
  CHECK(find(stop_blocks(records), "before")->procedure == "valve-test");
}

TEST_CASE("opening asks for the unit kind and for the manual's way to empty a store",
          "[schedule][gate]") {
  auto sheet = car();
  CHECK(stop_blocks({}, sheet, 1).empty());
  sheet.facts.unit_kind = UnitKind::unknown;
  const auto unknown = stop_blocks({}, sheet, 1);
  REQUIRE(find(unknown, "unit-kind"));
  CHECK_FALSE(find(unknown, "unit-kind")->may_override);
  sheet.facts.unit_kind = UnitKind::high_pressure_store;
  auto all = stop_blocks({}, sheet, 1);
  REQUIRE(all.size() == 2);
  CHECK_FALSE(all[0].same_day);
  sheet.sheet["depress-count"] = {"25", 25.0};
  all = stop_blocks({}, sheet, 1);
  REQUIRE(all.size() == 1);
  CHECK(all[0].same_day);
  CHECK(stop_blocks({record("depressurise", "2026-05-10")}, sheet, 1).empty());
  CHECK(stop_blocks({record("depressurise", "2026-05-09")}, sheet, 1).size() == 1);
}
