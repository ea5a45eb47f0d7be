#include "procedure/reader.h"

#include <catch2/catch.hpp>

#include "base/error.h"

using namespace stopledger;

namespace {

const std::string head = R"(format = 1
id = "mine"
name = "Mine"
purpose = "Try."
record = "note"
sources = ["common practice"]
)";
const std::string step = "[[step]]\ndo = \"Look.\"\n";

std::string message_of(const std::string& text) {
  try {
    read_procedure(text, "mine.toml");
  } catch (const Error& error) {
    CHECK(error.kind() == ErrorKind::input);
    return error.what();
  }
  return "";
}

}  // namespace

TEST_CASE("a smallest procedure has safe defaults", "[procedure][reader]") {
  const auto p = read_procedure(head + step, "mine.toml");
  CHECK(p.id == "mine");
  CHECK(p.people == 1);
  CHECK_FALSE(p.is_session);
  CHECK_FALSE(p.opens_system);
  CHECK_FALSE(p.interval);
  CHECK_FALSE(p.expectation);
  REQUIRE(p.steps.size() == 1);
  CHECK(p.steps[0].text == "Look.");
}

TEST_CASE("what breaks the format is named with line and key", "[procedure][reader]") {
  struct Case {
    std::string text, expected;
  };
  for (const Case& c : std::vector<Case>{
           {head + "colour = 3\n" + step, "mine.toml:7: colour: no such key"},
           {head + "[[step]]\ndo = \"a\"\nwhen = 1\n", "mine.toml:9: step.when: no such key"},
           {head + "people = \"two\"\n" + step, "mine.toml:7: people: must be a whole number"},
           {head + "people = 99\n" + step, "mine.toml:7: people: 99 is not within 1 to 20"},
           {head + "units = [\"steam\"]\n" + step, "mine.toml:7: units: \"steam\""},
           {head + "speed-kmh = [40, 30]\n" + step, "mine.toml:7: speed-kmh: must be [low, high]"},
           {head + "log = [1]\n" + step, "mine.toml:7: log: must be a list of texts"},
           {head + "session = 1\n" + step, "mine.toml:7: session: must be true or false"},
           {head, "step: is missing"},
           {head + "[[step]]\nrecord = \"mm\"\n", "step.do: is missing"},
           {head + step + "[interval]\nbasis = \"x\"\n",
            "mine.toml:10: interval.basis: says nothing"},
           {head + step + "[interval]\nmonths = 12\n", "interval.basis: is missing"},
           {head + step + "[interval]\nmonths = 12\nbasis = \"x\"\nseason = [4, 6]\n",
            "mine.toml:12: interval.season: must be months that follow"},
           {head + step + "[interval]\nmonths = 5\nbasis = \"x\"\nseason = [4, 5]\n",
            "mine.toml:12: interval.season: needs months in whole years"},
           {head + step + "[expect]\ncorners = [\"XX\"]\n", "mine.toml:10: expect.corners: \"XX\""},
           {head + step + "expect = 3\n", "step.expect: no such key"},
           {head + "id = \"again\"\n" + step, "mine.toml:7: this is not TOML"},
           {"name = 1\n", "format: is missing"},
           {"format = 2\n", "mine.toml:1: format: 2 is not known here"},
           {"", "format: is missing"},
           {std::string("\0\1", 2), "mine.toml:1: this is not TOML"}}) {
    INFO(c.text);
    CHECK_THAT(message_of(c.text), Catch::Contains(c.expected));
  }
}

TEST_CASE("an expectation asks of its corners and lets others idle", "[procedure][reader]") {
  const auto p = read_procedure(head + step +
                                    "[expect]\ncorners = [\"FL\", \"fr\"]\nreleases = 3\n"
                                    "may-stay-idle = [\"RL\"]\nwheel-answer = false\n"
                                    "cycle-rate-hz = [1, 12]\n",
                                "mine.toml");
  REQUIRE(p.expectation);
  CHECK(p.expectation->corners[Corner::fl].asked);
  CHECK(p.expectation->corners[Corner::fr].min_releases == 3);
  CHECK_FALSE(p.expectation->corners[Corner::rl].asked);
  CHECK(p.expectation->corners[Corner::rl].may_stay_idle);
  CHECK_FALSE(p.expectation->corners[Corner::rr].may_stay_idle);
  CHECK_FALSE(p.expectation->needs_wheel_answer);
  CHECK(p.expectation->cycle_rate_high_hz == 12.0);
}

TEST_CASE("cautions stand in order without a gap", "[procedure][reader]") {
  CHECK_THROWS_WITH(read_cautions("format = 1\n[[caution]]\nid = \"C2\"\ntext = \"x\"\n", "c.toml"),
                    Catch::Contains("c.toml:3: caution.id: C2 stands where C1 is expected"));
}
