#include "schedule/lint.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "procedure/library.h"
#include "schedule/car.h"

using namespace stopledger;
using namespace stopledger::testing;

namespace {

Procedure good(const char* id) {
  auto p = procedure(id, "hose-look", Interval{});
  p.interval->months = 12;
  p.cautions = {"C1"};
  return p;
}

std::string texts(const std::vector<Procedure>& ps) {
  std::string all;
  for (const auto& f : lint(ps, {})) all += f.procedure + ": " + f.text + "\n";
  return all;
}

}  // namespace

TEST_CASE("the library holds together", "[schedule][lint]") {
  const auto library = load_procedures();
  for (const auto& finding : lint(library, library)) FAIL(finding.file << ": " << finding.text);
}

TEST_CASE("each of the cautions is used by some procedure", "[schedule][lint]") {
  const auto library = load_procedures();
  for (const auto& caution : cautions()) {
    INFO(caution.id);
    CHECK(std::any_of(library.begin(), library.end(), [&](const Procedure& p) {
      return std::find(p.cautions.begin(), p.cautions.end(), caution.id) != p.cautions.end();
    }));
  }
}

TEST_CASE("a name that does not exist is found", "[schedule][lint]") {
  REQUIRE(texts({good("fine")}).empty());
  auto p = good("task");
  p.record_kind = "hose-lock";
  CHECK_THAT(texts({p}), Catch::Contains("no record kind \"hose-lock\""));
  p = good("task");
  p.cautions = {"C23"};
  CHECK_THAT(texts({p}), Catch::Contains("no caution \"C23\""));
  p = good("task");
  p.log_channels = {"outlet.*", "pump.FL"};
  CHECK(texts({p}) == "task: log: \"pump.FL\" is no role\n");
  p = good("task");
  p.surfaces = {"wet", "wet-asphalt"};
  CHECK(texts({p}) ==
        "task: surfaces: \"wet-asphalt\" is not known; choose from dry, wet, dry-concrete, "
        "dry-cobble, wet-cobble, gravel, snow, ice\n");
  p = good("task");
  p.needs_sheet = {"bleed-oder"};
  CHECK_THAT(texts({p}), Catch::Contains("no field \"bleed-oder\""));
  p = good("task");
  p.prerequisites = {{.procedure = "nothing", .within_days = {}, .reason = "x"}};
  CHECK_THAT(texts({p}), Catch::Contains("no procedure \"nothing\""));
  p = good("task");
  p.interval->after_records = {"part:unit", "party", "part:unity"};
  CHECK(texts({p}) ==
        "task: interval.after: \"party\" names no record kind\n"
        "task: interval.after: part has no field \"unity\"\n");
}

TEST_CASE("a circle of hard prerequisites is found, a soft one is none", "[schedule][lint]") {
  auto a = good("a"), b = good("b");
  a.prerequisites = {{.procedure = "b", .within_days = {}, .reason = "x"}};
  b.prerequisites = {{.procedure = "a", .within_days = {}, .reason = "x"}};
  CHECK_THAT(texts({a, b}), Catch::Contains("a: before: hard prerequisites lead back"));
  b.prerequisites[0].hard = false;
  CHECK(texts({a, b}).empty());
}

TEST_CASE("a procedure that nothing leads to is found", "[schedule][lint]") {
  auto alone = good("alone"), task = good("task");
  alone.interval.reset();
  CHECK_THAT(texts({alone, task}), Catch::Contains("alone: nothing leads to it"));
  task.prerequisites = {{.procedure = "alone", .within_days = {}, .reason = "x"}};
  CHECK(texts({alone, task}).empty());
}

TEST_CASE("what is driven or opened must carry its cautions and gates", "[schedule][lint]") {
  auto p = good("task");
  p.is_session = true;
  const auto missing = texts({p});
  for (const char* part : {"C5", "stop-when", "expect", "a helper", "lamp-code-check on the same"})
    CHECK_THAT(missing, Catch::Contains(part));
  p = good("task");
  p.opens_system = true;
  CHECK_THAT(texts({p}), Catch::Contains("needs C20"));
}

TEST_CASE("an own file that leaves out a caution is told so", "[schedule][lint]") {
  auto original = good("task"), own = good("task");
  original.cautions = {"C1", "C5"};
  own.overrides_library = true;
  const auto found = lint(std::vector{own}, std::vector{original});
  REQUIRE(found.size() == 2);
  CHECK_FALSE(found[0].error);
  CHECK_THAT(found[1].text, Catch::Contains("leaves out C5"));
}
