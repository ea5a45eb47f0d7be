#include "plan/promise.h"

#include <catch2/catch.hpp>

#include "signal/binomial.h"

using namespace stopledger;

// tests/bench/plan_promise.cpp does the same with as many sessions as wanted and prints the bounds.
TEST_CASE("sessions with unknown controllers see what the plan promised", "[plan][promise]") {
  std::size_t looks = 0, seen = 0;
  for (const PromiseTally& tally : keep_promises(6, 7, 3)) {
    INFO(tally.setting);
    CHECK(tally.promised >= 0.95);
    looks += static_cast<std::size_t>(tally.looks);
    seen += static_cast<std::size_t>(tally.seen);
  }
  REQUIRE(looks >= 40);
  INFO(seen << " of " << looks);
  // Not below 95 % beyond chance (looks of one session hang together, so this is the mild side).
  CHECK(clopper_pearson(seen, looks).high >= 0.95);
  CHECK(static_cast<double>(seen) >= 0.9 * static_cast<double>(looks));
}
