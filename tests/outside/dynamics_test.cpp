// Yaw by the bicycle model, the braked corner, and the valve states, against published facts.
#include <catch2/catch.hpp>
#include <numbers>

#include "verify/commands.h"
#include "verify/stability.h"
#include "verify/traction.h"

using namespace stopledger;

TEST_CASE("steady yaw rate of the handbook's passenger car", "[outside][yaw][VD-12]") {
  const double degree = std::numbers::pi / 180.0;
  // 20 m/s, 2 degrees, wheelbase 2.8 m: neutral 0.24933, with K = 0.01598 rad 0.20227 rad/s.
  CHECK(bicycle_yaw_rate(20.0, 2.0 * degree, 2.8, 0.0) == Approx(0.24933).margin(1e-5));
  CHECK(bicycle_yaw_rate(20.0, 2.0 * degree, 2.8, 0.01598) == Approx(0.20227).margin(2e-5));
}

TEST_CASE("steady yaw rate of an exercise car", "[outside][yaw][VD-13]") {
  // K = 1.2423e-4 rad/(m/s2) = 1.2187e-3 rad per g; R = 20.387 m at 10 m/s and 6.218 degrees.
  const double yaw =
      bicycle_yaw_rate(10.0, 6.218 * std::numbers::pi / 180.0, 2.2, 1.2423e-4 * 9.81);
  CHECK(10.0 / yaw == Approx(20.387).epsilon(5e-4));
}

namespace {

Log spin_log(double yaw_rate, double steering) {
  Log log;
  log.duration_s = 4.0;
  log.segments = {{0.0, 4.0}};
  const auto add = [&](const Role& role, auto value) {
    Channel channel;
    channel.role = role;
    channel.rate_hz = 50.0;
    for (int i = 0; i <= 200; ++i) {
      channel.series.t_s.push_back(0.02 * i);
      channel.series.value.push_back(value(0.02 * i));
    }
    channel.samples = channel.series.size();
    log.channels.push_back(channel);
  };
  for (const Corner corner : all_corners)
    add(Role::at(QuantityKind::wheel_speed, corner), [](double) { return 15.0; });
  const auto during = [](double t) { return t > 1.0 && t < 2.0; };
  add(Role::of_car(QuantityKind::stability_active),
      [&](double t) { return during(t) ? 1.0 : 0.0; });
  add(Role::of_car(QuantityKind::yaw_rate), [&](double t) { return during(t) ? yaw_rate : 0.0; });
  add(Role::of_car(QuantityKind::steering_angle),
      [&](double t) { return during(t) ? steering : 0.0; });
  return log;
}

StabilityOutcome stability_of(const Log& log) {
  const PreparedLog prepared = prepare_log(log, 0, {});
  PerCorner<Commands> commands;
  for (const Corner corner : all_corners) commands[corner] = read_commands(prepared, corner);
  for (Stretch& stretch : find_episodes(prepared, commands, {})) {
    judge_control_episode(prepared, commands, {}, stretch);
    if (stretch.episode.stability) return *stretch.episode.stability;
  }
  return {};
}

}  // namespace

TEST_CASE("oversteer wants the outside front, understeer the inside rear",
          "[outside][stability][EC-16]") {
  // Turning left: yaw and steering positive; outside is right.
  const StabilityOutcome over = stability_of(spin_log(0.9, 0.5));
  CHECK(over.tendency == Tendency::oversteer);
  CHECK(over.expected == std::vector{Corner::fr});
  const StabilityOutcome under = stability_of(spin_log(0.15, 3.0));
  CHECK(under.tendency == Tendency::understeer);
  CHECK(under.expected == std::vector{Corner::rl});
}

TEST_CASE("valve states as workshop texts give them", "[outside][valves][CT-01][CT-02][CT-03]") {
  Log log;
  log.duration_s = 1.0;
  log.segments = {{0.0, 1.0}};
  // apply 0 to 0.3 s, hold to 0.5 s, release to 0.7 s, apply to the end
  for (const QuantityKind quantity : {QuantityKind::inlet, QuantityKind::outlet}) {
    Channel channel;
    channel.role = Role::at(quantity, Corner::fl);
    channel.rate_hz = 100.0;
    for (int i = 0; i <= 100; ++i) {
      const double t = 0.01 * i;
      const bool inlet = t >= 0.3 && t < 0.7, outlet = t >= 0.5 && t < 0.7;
      channel.series.t_s.push_back(t);
      channel.series.value.push_back((quantity == QuantityKind::inlet ? inlet : outlet) ? 1.0
                                                                                        : 0.0);
    }
    log.channels.push_back(channel);
  }
  const Commands commands = read_commands(prepare_log(log, 0, {}), Corner::fl);
  REQUIRE(commands.releases.size() == 1);
  CHECK(commands.releases[0].start_s == Approx(0.50).margin(0.011));  // one sample
  CHECK(commands.releases[0].apply_s.value_or(0.0) == Approx(0.70).margin(0.011));
  REQUIRE(commands.holds.size() == 1);
  CHECK(commands.holds[0].first_on_s == Approx(0.30).margin(0.011));
}
