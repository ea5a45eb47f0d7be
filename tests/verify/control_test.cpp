// Stability and traction episodes against the forward model's truth.

#include <algorithm>
#include <catch2/catch.hpp>

#include "judge/control_tally.h"
#include "report/check_json.h"
#include "report/check_text.h"
#include "verify/check.h"

using namespace stopledger;
using namespace stopledger::control_cases;

namespace {

/// Eight seeds at 10, 50 and 100 Hz each; `judge_control` counts more.
Tally tally_of(Group group) {
  Tally tally;
  for (std::uint64_t seed = 9001; seed <= 9008; ++seed)
    for (const double rate_hz : {10.0, 50.0, 100.0}) {
      const ControlRun run = draw_control_run(seed, group, rate_hz);
      judge_control_run(run, check_logs({&run.log, 1}, car_facts(run.c), nullptr), tally);
    }
  return tally;
}

/// A launch on ice of a car with front drive; 0 to 2 s standing, then the pedal to the floor.
/// `answer`: the wheel comes back after 0.5 s, its inlet pulsed and isolation and prime on.
Log launch(bool answer, bool torque_side, bool brake_side) {
  Log log;
  log.file = "launch.csv";
  log.duration_s = 6.0;
  log.segments = {{0.0, 6.0}};
  const auto add = [&](const Role& role, auto value) {
    Channel channel;
    channel.role = role;
    channel.rate_hz = 50.0;
    for (int i = 0; i <= 300; ++i) {
      channel.series.t_s.push_back(0.02 * i);
      channel.series.value.push_back(value(0.02 * i, i));
    }
    channel.samples = channel.series.size();
    log.channels.push_back(channel);
  };
  const auto car = [](double t) { return t < 2.0 ? 0.0 : 1.2 * (t - 2.0); };
  for (const Corner corner : all_corners)
    add(Role::at(QuantityKind::wheel_speed, corner), [&](double t, int) {
      const double end = answer ? 2.9 : 4.5;
      const double up = std::clamp((t - 2.1) / 0.2, 0.0, 1.0);
      const double down = std::clamp((end - t) / 0.2, 0.0, 1.0);
      return corner == Corner::fl ? car(t) + 5.0 * up * down : car(t);
    });
  const auto acts = [&](double t) { return answer && t > 2.3 && t < 3.0; };
  if (torque_side)
    for (const QuantityKind quantity : {QuantityKind::throttle, QuantityKind::accelerator})
      add(Role::of_car(quantity), [](double t, int) { return t < 2.0 ? 0.0 : 0.8; });
  if (brake_side) {
    for (const QuantityKind quantity : {QuantityKind::isolation, QuantityKind::prime})
      add(Role::of_car(quantity), [&](double t, int) { return acts(t) ? 1.0 : 0.0; });
    for (const Corner corner : {Corner::fl, Corner::rr})
      add(Role::at(QuantityKind::inlet, corner), [&](double t, int i) {
        return acts(t) && (corner == Corner::rr || i % 3 != 0) ? 1.0 : 0.0;
      });
  }
  return log;
}

bool has_finding(const CheckOutcome& outcome, const char* id) {
  for (const Finding& finding : outcome.findings)
    if (finding.id == id) return true;
  return false;
}

const TractionOutcome* traction_of(const CheckOutcome& outcome) {
  for (const Episode& episode : outcome.episodes)
    if (episode.traction) return &*episode.traction;
  return nullptr;
}

CheckOutcome judged_alone(const Log& log) { return check_logs({&log, 1}, {}, nullptr); }

}  // namespace

TEST_CASE("sound plain drives name no stability and no traction", "[verify][control]") {
  const Tally tally = tally_of(Group::plain);
  CHECK(tally.false_alarm == 0);
  CHECK(tally.unanswered_false == 0);
}

TEST_CASE("over- and understeer are named after the axle that slid, and the braked wheels",
          "[verify][control]") {
  // Bounds for 24 runs each, from what 180 other ones showed (tests/judge/RESULTS.md).
  for (const Group group : {Group::understeer, Group::oversteer, Group::counter}) {
    const Tally one = tally_of(group);
    INFO(group_name(group));
    REQUIRE(one.truth >= 20);
    CHECK(one.found >= 0.85 * one.truth);
    CHECK(one.false_alarm <= 2);
    CHECK(one.braked_right >= 0.7 * one.braked);  // half of them at 10 Hz
    CHECK(one.braked_wrong <= 0.1 * one.braked);
    if (group == Group::counter) continue;  // both in one episode: the greater part is named
    REQUIRE(one.tendency >= 6);
    CHECK(one.tendency_right >= 0.6 * one.tendency);
    CHECK(one.tendency_wrong <= 0.15 * one.tendency);
  }
}

TEST_CASE("torque cut and braked wheel of a launch are named right", "[verify][control]") {
  const Tally tally = tally_of(Group::launch);
  REQUIRE(tally.truth >= 20);
  CHECK(tally.found >= 0.9 * tally.truth);
  CHECK(tally.cut_wrong == 0);
  CHECK(tally.braked_wrong == 0);
  CHECK(tally.unanswered_false == 0);
}

TEST_CASE("wheel spin without any answer is said where the log would have shown one",
          "[verify][control]") {
  const Tally tally = tally_of(Group::spinning);
  CHECK(tally.found == tally.truth);
  CHECK(tally.cut_wrong == 0);
  CHECK(tally.braked_wrong == 0);
  REQUIRE(tally.unanswered >= 6);
  CHECK(tally.unanswered_said == tally.unanswered);
}

TEST_CASE("a launch without torque channels says what the brake side shows", "[verify][control]") {
  const CheckOutcome outcome = judged_alone(launch(true, false, true));
  const TractionOutcome* traction = traction_of(outcome);
  REQUIRE(traction);
  CHECK(traction->spun == std::vector{Corner::fl});
  CHECK(traction->spin_s.value_or(0.0) ==
        Approx(0.75).margin(0.06));  // 2.1 to 2.9 s less its flanks
  CHECK(traction->spin_kmh.value_or(0.0) == Approx(18.0).margin(1.5));  // 5 m/s
  CHECK(traction->braked == std::vector{Corner::fl});
  CHECK_FALSE(traction->torque_cut);
  CHECK(traction->answered == true);
  CHECK_FALSE(has_finding(outcome, "control-never-answered"));
  const std::string text = check_text(outcome, {});
  CHECK(text.find("FL spun for 0.7 s") != std::string::npos);
  CHECK(text.find("torque not seen") != std::string::npos);
  CHECK(text.find("FL braked by the unit") != std::string::npos);
}

TEST_CASE("what cannot be seen of a spin is asked to be recorded", "[verify][control]") {
  const CheckOutcome outcome = judged_alone(launch(false, false, false));
  REQUIRE(traction_of(outcome));
  CHECK_FALSE(traction_of(outcome)->answered);
  CHECK_FALSE(has_finding(outcome, "control-never-answered"));
  std::string asked;
  for (const std::string& advice : outcome.record_next) asked += advice;
  CHECK(asked.find("throttle") != std::string::npos);
  CHECK(asked.find("isolation") != std::string::npos);
}

TEST_CASE("no answer on either side is a finding, and a kept check says so later",
          "[verify][control][json]") {
  const CheckOutcome silent = judged_alone(launch(false, true, true));
  CHECK(has_finding(silent, "control-never-answered"));
  CHECK(control_acted(check_json(silent, {})) == false);
  const CheckOutcome answered = judged_alone(launch(true, true, true));
  CHECK_FALSE(has_finding(answered, "control-never-answered"));
  CHECK(control_acted(check_json(answered, {})) == true);
  CHECK_FALSE(control_acted(check_json(CheckOutcome{}, {})));
  CHECK_FALSE(control_acted("not a document"));
}
