// What counts as a wheel's own answer, and when silence is no proof.

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>

#include "verify/check.h"
#include "verify/hand_made.h"
#include "verify/hand_stops.h"

using namespace stopledger;
using namespace stopledger::test;

TEST_CASE("one sensor for two wheels proves neither that has a valve of its own",
          "[verify][proof]") {
  HandMade hand(13.0, 4.0, 2.0, 6.5);
  cycles(hand, 2.3, 5);
  hand.at(Role::at(QuantityKind::wheel_speed, Corner::rr)) =
      hand.at(Role::at(QuantityKind::wheel_speed, Corner::rl));
  const auto check_car = [&](int sensors, int channels) {
    CarFacts car;
    car.sensors = sensors;
    car.channels = channels;
    return check_logs(std::span(&hand.log, 1), car, nullptr);
  };
  for (const Corner corner : {Corner::rl, Corner::rr}) {
    CHECK(check_car(4, 4).corners[corner].result == Result::exercised);
    const CornerOutcome apart = check_car(3, 4).corners[corner];
    INFO(apart.reason);
    CHECK(apart.result == Result::commanded);
    CHECK(apart.reason.find("one sensor") != std::string::npos);
    const CornerOutcome pair = check_car(3, 3).corners[corner];
    CHECK(pair.result == Result::exercised);
    CHECK(pair.reason.find("the axle's answer") != std::string::npos);
  }
}

TEST_CASE("slip in a later stop shows that the inlet valve opened again", "[verify][proof]") {
  // One release a stop, so late that nothing is seen of the re-apply.
  HandMade hand(12.0, 4.0, 2.0, 6.0);
  for (const Corner corner : all_corners) hand.cycle(corner, 4.0);
  const HandMade once = hand;
  const CheckOutcome one = check_hand(hand);
  for (const Corner corner : all_corners) CHECK(one.corners[corner].result == Result::commanded);
  append(hand, once, 10.0);
  append(hand, once, 10.0);
  const CheckOutcome three = check_hand(hand);
  for (const Corner corner : all_corners) {
    INFO(three.corners[corner].reason);
    CHECK(three.corners[corner].result == Result::exercised);
  }
}

TEST_CASE("a wheel that comes back long after its release did not answer it", "[verify][proof]") {
  HandMade hand(14.0, 3.0, 2.0, 6.8);
  cycles(hand, 2.3, 8);
  const Role wheel = Role::at(QuantityKind::wheel_speed, Corner::fl);
  hand.at(wheel) = HandMade(14.0, 3.0, 2.0, 6.8).at(wheel);
  for (const QuantityKind quantity : {QuantityKind::inlet, QuantityKind::outlet})
    hand.set(Role::at(quantity, Corner::fl), 0.0, 6.8, 0.0);
  for (int i = 0; i < 3; ++i) {  // half of the slip is gone 0.5 s after the release
    const double t = 2.3 + 1.1 * i;
    hand.dip(Corner::fl, t, t + 1.0, 0.3);
    hand.set(Role::at(QuantityKind::inlet, Corner::fl), t + 0.3, t + 0.8, 1.0);
    hand.set(Role::at(QuantityKind::outlet, Corner::fl), t + 0.32, t + 0.8, 1.0);
  }
  const CheckOutcome outcome = check_hand(hand);
  INFO(outcome.corners[Corner::fl].reason);
  CHECK(outcome.corners[Corner::fl].result != Result::exercised);
  CHECK(outcome.corners[Corner::fr].result == Result::exercised);
}

TEST_CASE("valves seen five times a second tell no release from the next", "[verify][proof]") {
  HandMade hand(13.0, 4.0, 2.0, 6.5);
  cycles(hand, 2.3, 6);
  thin(hand, 10,
       [](const Channel& channel) { return channel.role.quantity != QuantityKind::wheel_speed; });
  const CheckOutcome outcome = check_hand(hand);
  for (const Corner corner : all_corners) {
    INFO(outcome.corners[corner].reason);
    CHECK(outcome.corners[corner].reason.find("answered") == std::string::npos);
  }
}

TEST_CASE("silence beside a wheel deep in slip wants looks within a valve's opening",
          "[verify][proof]") {
  HandMade hand(12.0, 4.0, 2.0, 6.0);
  const CheckOutcome rolling = check_hand(hand);
  for (const Corner corner : all_corners) CHECK(rolling.corners[corner].result == Result::idle);
  hand.dip(Corner::fl, 2.5, 2.9, 0.5);
  const CheckOutcome slipping = check_hand(hand);
  INFO(slipping.corners[Corner::fl].reason);
  CHECK(slipping.corners[Corner::fl].result == Result::unseen);
}

TEST_CASE("where no wheel comes back no corner is to blame, and it is said", "[verify][proof]") {
  // Three wheels sink deep in slip through long releases; the fourth, hardly braked, rolls on.
  HandMade hand(14.0, 2.0, 2.0, 8.0);
  constexpr std::array sinking{Corner::fl, Corner::fr, Corner::rl};
  for (const Corner corner : sinking) {
    hand.dip(corner, 2.2, 6.8, 0.7);
    for (int i = 0; i < 4; ++i) {
      hand.set(Role::at(QuantityKind::inlet, corner), 2.8 + 0.8 * i, 3.3 + 0.8 * i, 1.0);
      hand.set(Role::at(QuantityKind::outlet, corner), 2.8 + 0.8 * i, 3.2 + 0.8 * i, 1.0);
    }
  }
  const CheckOutcome outcome = check_hand(hand);
  for (const Corner corner : sinking) {
    INFO(outcome.corners[corner].reason);
    CHECK(outcome.corners[corner].result == Result::commanded);
    CHECK(outcome.corners[corner].reason.find("as at the other wheels") != std::string::npos);
  }
  const auto told = [](const CheckOutcome& check) {
    return std::any_of(check.findings.begin(), check.findings.end(),
                       [](const Finding& finding) { return finding.id == "no-wheel-answered"; });
  };
  CHECK(told(outcome));
  // The same at one wheel only is that wheel's.
  HandMade one(14.0, 2.0, 2.0, 8.0);
  cycles(one, 2.4, 9);
  for (const QuantityKind quantity :
       {QuantityKind::wheel_speed, QuantityKind::inlet, QuantityKind::outlet})
    one.at(Role::at(quantity, Corner::fl)) = hand.at(Role::at(quantity, Corner::fl));
  const CheckOutcome alone = check_hand(one);
  CHECK(alone.corners[Corner::fl].result == Result::suspect);
  CHECK_FALSE(told(alone));
}
