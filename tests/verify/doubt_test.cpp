// Stops that look answered and are not, and the doubt that is said of them.

#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "verify/check.h"
#include "verify/episodes.h"
#include "verify/hand_made.h"
#include "verify/hand_stops.h"
#include "verify/sinking.h"

using namespace stopledger;
using namespace stopledger::test;

namespace {

/// Whether every look of the channel is to be thinned.
bool any(const Channel&) { return true; }

/// A stop whose wheels cycle, all of them on a speed that is `v(t)` from 2 s on.
template <typename Speed>
HandMade stop_along(Speed v, double end_s, int cycles_each) {
  HandMade hand(14.0, 2.0, 2.0, end_s);
  for (const Corner corner : all_corners) {
    Series& series = hand.at(Role::at(QuantityKind::wheel_speed, corner));
    for (std::size_t i = 0; i < series.size(); ++i)
      if (series.t_s[i] > 2.0) series.value[i] = std::max(0.0, v(series.t_s[i] - 2.0));
  }
  cycles(hand, 2.3, cycles_each);
  return hand;
}

/// Slows at 2.5 m/s2, then from 2.2 s on at `last_mps2`.
HandMade stop_ending_at(double last_mps2, int cycles_each = 6) {
  return stop_along(
      [&](double t) { return t < 2.2 ? 14.0 - 2.5 * t : 14.0 - 2.5 * 2.2 - last_mps2 * (t - 2.2); },
      6.4, cycles_each);
}

bool sunk(const HandMade& hand) {
  const PreparedLog run = prepare_log(hand.log, 0, {});
  PerCorner<Commands> commands;
  for (const Corner corner : all_corners) commands[corner] = read_commands(run, corner);
  const std::vector<Stretch> stretches = find_episodes(run, commands, {});
  return std::any_of(stretches.begin(), stretches.end(),
                     [](const Stretch& stretch) { return stretch.sunk; });
}

/// Two short falls of slip at every corner, the outlet opening `after_s` from where each turns.
HandMade two_small_falls(double after_s) {
  HandMade hand(14.0, 4.0, 2.0, 6.5);
  for (const Corner corner : all_corners)
    for (int i = 0; i < 2; ++i) {
      const double t = 2.5 + 0.8 * i + 0.1 * static_cast<int>(corner), turns = t + 0.055;
      hand.dip(corner, t, t + 0.11, 0.055);
      const double opens = turns + after_s;
      hand.set(Role::at(QuantityKind::inlet, corner), opens - 0.02, opens + 0.06, 1.0);
      hand.set(Role::at(QuantityKind::outlet, corner), opens, opens + 0.04, 1.0);
    }
  return hand;
}

void clear_corner(HandMade& hand, Corner corner, const HandMade& quiet) {
  for (const QuantityKind quantity :
       {QuantityKind::wheel_speed, QuantityKind::inlet, QuantityKind::outlet}) {
    HandMade copy = quiet;
    hand.at(Role::at(quantity, corner)) = copy.at(Role::at(quantity, corner));
  }
}

}  // namespace

TEST_CASE("a speed that falls far more steeply at the end sank with the wheels",
          "[verify][doubt]") {
  HandMade steeper = stop_ending_at(7.5), alike = stop_ending_at(3.0);
  CHECK_FALSE(sunk(steeper));  // fifty looks a second show wheels part
  thin(steeper, 3, any);
  thin(alike, 3, any);
  CHECK(sunk(steeper));
  CHECK_FALSE(sunk(alike));
  const CheckOutcome doubted = check_hand(steeper), plain = check_hand(alike);
  REQUIRE(doubted.episodes.size() == 1);
  CHECK_FALSE(doubted.episodes[0].distance_m);
  CHECK(doubted.episodes[0].unmeasured == StopDoubt::all_sunk);
  CHECK(plain.episodes[0].distance_m);
  for (const Corner corner : all_corners) {
    INFO(doubted.corners[corner].reason << " / " << plain.corners[corner].reason);
    CHECK(doubted.corners[corner].result == Result::commanded);
    CHECK(doubted.corners[corner].reason.find("gone down into slip together") != std::string::npos);
    CHECK(plain.corners[corner].result == Result::exercised);
  }
}

TEST_CASE("a braked car gains no speed: its wheels had sunk", "[verify][doubt]") {
  const auto rising_by = [](double gain, double looks_hz) {
    PreparedLog run;
    ReferenceSpeed speed;
    speed.step_s = 0.02;
    for (double t = 0.0; t < 5.0; t += speed.step_s)
      speed.v_mps.push_back(15.0 - 2.0 * t +
                            (t > 2.0 ? gain * std::min(1.0, (t - 2.0) / 0.2) : 0.0));
    speed.a_mps2.assign(speed.v_mps.size(), -2.0);
    speed.valid.assign(speed.v_mps.size(), 1);
    run.reference.push_back(speed);
    PerCorner<Commands> commands;
    for (const Corner corner : all_corners) {
      run.wheels[corner].rate_hz = looks_hz;
      for (int i = 0; i < 4; ++i) {
        Release release;
        release.start_s = 0.5 + 0.5 * i;
        commands[corner].releases.push_back(release);
      }
    }
    return all_may_have_sunk(run, commands, 0.2, 4.8);
  };
  CHECK(rising_by(1.5, 18.0));
  CHECK_FALSE(rising_by(0.5, 18.0));
  CHECK_FALSE(rising_by(1.5, 50.0));
}

TEST_CASE("dips too sharp for any wheel are the ring's, also under the brake", "[verify][doubt]") {
  const auto check_dips = [](std::size_t looks) {
    HandMade hand(11.0, 1.3, 2.0, 11.0);
    thin(hand, 2, any);
    Series& wheel = hand.at(Role::at(QuantityKind::wheel_speed, Corner::fl));
    Series& inlet = hand.at(Role::at(QuantityKind::inlet, Corner::fl));
    Series& outlet = hand.at(Role::at(QuantityKind::outlet, Corner::fl));
    for (std::size_t i = 75; i + 60 < wheel.size(); i += 25) {
      for (std::size_t k = 0; k < looks; ++k)  // comes back over `looks`
        wheel.value[i + k] *= 0.4 + 0.6 * static_cast<double>(k) / static_cast<double>(looks);
      inlet.value[i] = outlet.value[i] = 1.0;
    }
    return check_hand(hand).corners[Corner::fl];
  };
  const CornerOutcome ring = check_dips(1), wheel = check_dips(8);
  INFO(ring.reason << " / " << wheel.reason);
  CHECK(ring.result == Result::commanded);
  CHECK(ring.reason.find("no wheel speed of this corner") != std::string::npos);
  CHECK(wheel.result == Result::exercised);
}

TEST_CASE("silence in one log is none in another that lacks the valves", "[verify][doubt]") {
  HandMade silent(12.0, 4.0, 2.0, 6.0), other(12.0, 4.0, 2.0, 6.0);
  cycles(other, 2.3, 4);
  auto& channels = other.log.channels;
  channels.erase(std::remove_if(channels.begin(), channels.end(),
                                [](const Channel& channel) {
                                  return channel.role.corner == Corner::fl &&
                                         channel.role.quantity != QuantityKind::wheel_speed;
                                }),
                 channels.end());
  clear_corner(other, Corner::fr, silent);
  other.at(Role::at(QuantityKind::wheel_speed, Corner::fl)) =
      silent.at(Role::at(QuantityKind::wheel_speed, Corner::fl));
  CHECK(check_hand(silent).corners[Corner::fl].result == Result::idle);
  const std::vector<Log> both{silent.log, other.log};
  const CheckOutcome outcome = check_logs(both, {}, nullptr);
  INFO(outcome.corners[Corner::fl].reason);
  CHECK(outcome.corners[Corner::fl].result == Result::unseen);
  CHECK(outcome.corners[Corner::fl].reason.find("lacks this corner's valves") != std::string::npos);
  CHECK(outcome.corners[Corner::fr].result == Result::idle);  // both logs watched it
}

TEST_CASE("two small falls prove by turning with the valve", "[verify][doubt]") {
  const CheckOutcome prompt = check_hand(two_small_falls(0.0));
  const CheckOutcome apart = check_hand(two_small_falls(-0.06));
  for (const Corner corner : all_corners) {
    INFO(prompt.corners[corner].reason << " / " << apart.corners[corner].reason);
    CHECK(prompt.corners[corner].result == Result::exercised);
    CHECK(apart.corners[corner].result == Result::commanded);
  }
}

TEST_CASE("a slick patch under both wheels of an axle blames neither", "[verify][doubt]") {
  const auto stays_down = [](HandMade& hand, Corner corner) {
    hand.dip(corner, 2.2, 3.4, 0.95);
    hand.set(Role::at(QuantityKind::inlet, corner), 2.4, 3.2, 1.0);
    hand.set(Role::at(QuantityKind::outlet, corner), 2.42, 3.1, 1.0);
  };
  const auto stop = [&](bool both) {
    HandMade hand(15.0, 3.0, 2.0, 8.0), early = hand;
    cycles(hand, 3.6, 5);
    cycles(early, 2.3, 9);
    for (const Corner corner : {Corner::rl, Corner::rr}) clear_corner(hand, corner, early);
    stays_down(hand, Corner::fl);
    if (both) stays_down(hand, Corner::fr);
    return check_hand(hand).corners[Corner::fl];
  };
  const CornerOutcome patch = stop(true), alone = stop(false);
  INFO(patch.reason << " / " << alone.reason);
  CHECK(patch.result == Result::exercised);
  CHECK(alone.result != Result::exercised);
}

TEST_CASE("few answers are no proof while they died out at two other wheels", "[verify][doubt]") {
  const auto check_stop = [](bool fading) {
    HandMade hand(14.0, 4.0, 2.0, 8.0);
    cycles(hand, 2.3, 3);
    for (const Corner corner : {Corner::fl, Corner::rr}) {
      if (!fading) continue;
      hand.lock(corner, 3.6);
      hand.set(Role::at(QuantityKind::inlet, corner), 3.62, 5.0, 1.0);
      hand.set(Role::at(QuantityKind::outlet, corner), 3.62, 5.0, 1.0);
    }
    return check_hand(hand).corners[Corner::fr];
  };
  const CornerOutcome few = check_stop(true);
  INFO(few.reason);
  CHECK(few.result == Result::commanded);
  CHECK(few.reason.find("one pump serves all") != std::string::npos);
  CHECK(check_stop(false).result == Result::exercised);
}

TEST_CASE("a release that was going on when the log began counts, and answers nothing",
          "[verify][doubt]") {
  // FL stands under a release that went on before the braking is seen to begin; FR cycles.
  HandMade hand(14.0, 3.0, 1.5, 7.0);
  cycles(hand, 1.8, 9);
  const HandMade quiet(14.0, 3.0, 1.5, 7.0);
  clear_corner(hand, Corner::fl, quiet);
  hand.set(Role::at(QuantityKind::wheel_speed, Corner::fl), 0.0, 5.0, 0.0);
  for (const QuantityKind quantity : {QuantityKind::inlet, QuantityKind::outlet})
    hand.set(Role::at(quantity, Corner::fl), 0.0, 4.5, 1.0);
  const CornerOutcome outcome = check_hand(hand).corners[Corner::fl];
  INFO(outcome.reason);
  CHECK(outcome.result == Result::suspect);
}
