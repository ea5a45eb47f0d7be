#include "plan/session_results.h"

#include <catch2/catch.hpp>

using namespace stopledger;

namespace {

Record exercise(std::initializer_list<std::pair<const char*, const char*>> fields) {
  Record record;
  record.kind = "exercise";
  for (const auto& [name, value] : fields) record.fields[name].written = value;
  return record;
}

}  // namespace

TEST_CASE("a corner that nobody names is unseen", "[plan][close]") {
  Record fronts = exercise({{"fl", "exercised"}, {"fr", "exercised"}});
  complete_by_hand(fronts, {});
  CHECK(fronts.fields.at("rl").written == "unseen");
  CHECK(fronts.fields.at("result").written == "unseen");
  // One channel: the rear axle is all there is.
  CarFacts rears_only;
  rears_only.channels = 1;
  Record rears = exercise({{"rl", "exercised"}, {"rr", "exercised"}});
  complete_by_hand(rears, rears_only);
  CHECK(rears.fields.at("result").written == "exercised");
  SessionResults results(rears_only);
  results.add(rears);
  CHECK(results.all_exercised());
  CHECK(results.not_proved().empty());
}

TEST_CASE("one log of several proves a corner, and suspect stays suspect", "[plan][close]") {
  SessionResults results({});
  results.add(exercise({{"result", "commanded"}, {"fl", "commanded"}, {"fr", "suspect"}}));
  results.add(exercise(
      {{"result", "exercised"}, {"fl", "exercised"}, {"fr", "exercised"}, {"rl", "exercised"}}));
  CHECK_FALSE(results.all_exercised());
  const std::string open = results.not_proved();
  CHECK(open.find("Not proved this time: FR suspect, RR unseen.") == 0);
  CHECK(open.find("FR did not answer: do not drive") != std::string::npos);
}
