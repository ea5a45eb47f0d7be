#include <catch2/catch.hpp>

#include "verify/check.h"
#include "verify/hand_made.h"

using namespace stopledger;
using namespace stopledger::test;

namespace {

/// Three answered cycles at every corner, then all wheels go down while release goes on being
/// commanded: what a dead pump and a full accumulator look like.
HandMade pump_dead() {
  HandMade hand(14.0, 4.0, 2.0, 8.0);
  for (const Corner corner : all_corners) {
    for (int i = 0; i < 3; ++i)
      hand.cycle(corner, 2.3 + 0.36 * i + 0.03 * static_cast<int>(corner));
    hand.lock(corner, 3.6);
    hand.set(Role::at(QuantityKind::inlet, corner), 3.62, 5.0, 1.0);
    hand.set(Role::at(QuantityKind::outlet, corner), 3.62, 5.0, 1.0);
  }
  return hand;
}

}  // namespace

TEST_CASE("answers that die out at every corner are suspect, never exercised", "[verify][fading]") {
  const HandMade hand = pump_dead();
  const CheckOutcome outcome = check_logs(std::span(&hand.log, 1), {}, nullptr);
  for (const Corner corner : all_corners) {
    INFO(corner_name(corner) << ": " << outcome.corners[corner].reason);
    CHECK(outcome.corners[corner].result == Result::suspect);
    CHECK(outcome.corners[corner].locked_s.value_or(0.0) > 0.5);
  }
  int fades = 0;
  for (const Finding& finding : outcome.findings) fades += finding.id == "releases-fade" ? 1 : 0;
  CHECK(fades == 4);
}

TEST_CASE("wheels that all stand are no standing car", "[verify][fading]") {
  const HandMade hand = pump_dead();
  const CheckOutcome outcome = check_logs(std::span(&hand.log, 1), {}, nullptr);
  REQUIRE(outcome.episodes.size() == 1);
  // 14 m/s at 4 m/s2 from 2.0 s on: at rest after 3.5 s and 24.5 m, though the wheels stand from
  // 3.75 s on.
  CHECK(outcome.episodes[0].end_s == Approx(5.5).margin(0.35));
  CHECK(outcome.episodes[0].distance_m.value_or(0.0) == Approx(24.5).epsilon(0.1));
}

TEST_CASE("a release that the next one completes is answered", "[verify][fading]") {
  HandMade hand(12.0, 4.0, 2.0, 6.0);
  for (const Corner corner : all_corners)
    for (int i = 0; i < 3; ++i) {
      const double t = 2.3 + 0.6 * i + 0.03 * static_cast<int>(corner);
      // A long slow swing with two short pulses: only after the second one slip falls.
      hand.dip(corner, t, t + 0.56, 0.3);
      hand.set(Role::at(QuantityKind::inlet, corner), t + 0.06, t + 0.5, 1.0);
      hand.set(Role::at(QuantityKind::outlet, corner), t + 0.08, t + 0.12, 1.0);
      hand.set(Role::at(QuantityKind::outlet, corner), t + 0.28, t + 0.34, 1.0);
    }
  const CheckOutcome outcome = check_logs(std::span(&hand.log, 1), {}, nullptr);
  for (const Corner corner : all_corners) {
    INFO(corner_name(corner) << ": " << outcome.corners[corner].reason);
    CHECK(outcome.corners[corner].result == Result::exercised);
  }
}
