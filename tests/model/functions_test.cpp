// Stability, traction, self-test, rear balance, unit kinds and sensor faults of the model.

#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>

#include "model/scenario.h"
#include "model/simulate.h"
#include "model/truth.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

Case full_car() {
  Case c;
  c.unit.has_isolation_valves = true;
  c.controller.stability = true;
  c.controller.traction_torque = true;
  c.controller.traction_brake = true;
  return c;
}

bool any(const Run& run, const std::function<bool(const Frame&)>& test) {
  return std::any_of(run.frames.begin(), run.frames.end(), test);
}

bool braked_by(const Run& run, Corner corner, Cause cause) {
  return any(run, [corner, cause](const Frame& f) {
    return f.cause[corner] == cause && f.pressure_kpa[corner] > 500.0;
  });
}

}  // namespace

TEST_CASE("understeer in a left bend brakes the inside rear and keeps its partner vented",
          "[model][stability]") {
  Case c = full_car();
  const Grip snow{Surface::snow, 1.0, 1.0};
  c.ground = {{snow, snow}};
  c.manoeuvre.start_mps = 12.5;
  c.manoeuvre.phases = {{.duration_s = 1.0, .keep_speed_mps = 12.5},
                        {.duration_s = 1.0, .keep_speed_mps = 12.5, .steer_rad = 4.0}};
  const Run run = simulate(c, 1);
  CHECK(braked_by(run, Corner::rl, Cause::stability_build));
  CHECK_FALSE(braked_by(run, Corner::rr, Cause::stability_build));
  // Diagonal split: FR shares the circuit with RL.
  CHECK(any(run, [](const Frame& f) {
    return f.cause[Corner::fr] == Cause::kept_vented && f.inlet[Corner::fr] > 0.5 &&
           f.outlet[Corner::fr] > 0.5 && f.isolation[1] && f.prime[1] && f.pump;
  }));
  for (const Frame& f : run.frames)
    if (f.cause[Corner::fr] == Cause::kept_vented) REQUIRE(f.pressure_kpa[Corner::fr] < 400.0);
}

TEST_CASE("power oversteer in a left bend brakes the outside front", "[model][stability]") {
  Case c = full_car();
  c.controller.traction_brake = c.controller.traction_torque = false;
  c.car.drive = Drive::rear;
  c.car.split = CircuitSplit::front_rear;
  const Grip snow{Surface::snow, 1.0, 1.0};
  c.ground = {{snow, snow}};
  c.manoeuvre.start_mps = 12.5;
  c.manoeuvre.phases = {{.duration_s = 1.0, .keep_speed_mps = 12.5},
                        {.duration_s = 2.0, .accelerator = 0.7, .steer_rad = 1.5}};
  const Run run = simulate(c, 1);
  CHECK(braked_by(run, Corner::fr, Cause::stability_build));
  CHECK_FALSE(braked_by(run, Corner::fl, Cause::stability_build));
}

TEST_CASE("pulling away on split ground cuts torque and brakes the spinning wheel",
          "[model][traction]") {
  Case c = full_car();
  c.ground = {{{Surface::ice, 1.0, 1.0}, {Surface::wet_asphalt, 1.0, 1.0}}};
  c.manoeuvre.start_mps = 0.0;
  c.manoeuvre.phases = {{.duration_s = 0.5, .pedal_kpa = 1500.0},
                        {.duration_s = 3.0, .accelerator = 0.7}};
  const Run run = simulate(c, 1);
  CHECK(braked_by(run, Corner::fl, Cause::traction_build));
  CHECK_FALSE(braked_by(run, Corner::fr, Cause::traction_build));
  CHECK(any(run, [](const Frame& f) { return f.throttle < 0.7 * f.accelerator; }));
  // The car without it lets the wheel on the ice spin far faster, and gets away no sooner.
  Case plain = c;
  plain.controller.traction_brake = plain.controller.traction_torque = false;
  const Run spun = simulate(plain, 1);
  CHECK(run.frames.back().speed_mps > spun.frames.back().speed_mps);
  CHECK(spun.frames.back().wheel_mps[Corner::fl] > 3.0 * run.frames.back().wheel_mps[Corner::fl]);
  SECTION("with the prime valve stuck the pump finds nothing to build with") {
    c.faults = {{FaultKind::prime_stuck_closed, 1.0, Corner::fl, 1}};
    CHECK_FALSE(braked_by(simulate(c, 1), Corner::fl, Cause::traction_build));
  }
}

TEST_CASE("the drive-off self-test is one pump blip and a tick of every valve", "[model]") {
  Case c;
  c.controller.self_test_mps = 4.0;
  c.manoeuvre.start_mps = 0.0;
  c.manoeuvre.phases = {{.duration_s = 6.0, .keep_speed_mps = 8.0}};
  const Truth truth = find_truth(simulate(c, 1), c);
  REQUIRE(truth.pump.size() == 1);
  CHECK(truth.pump[0].end_s - truth.pump[0].start_s == Approx(0.5).margin(0.02));
  for (Corner corner : all_corners) {
    REQUIRE(truth.corners[corner].releases.size() == 1);
    CHECK(truth.corners[corner].releases[0].cause == Cause::self_test);
    CHECK(truth.corners[corner].releases[0].on_s < 0.015);
  }
  REQUIRE(truth.events.size() == 1);
  CHECK(truth.events[0].kind == EventKind::self_test);
}

TEST_CASE("rear balance holds the rears in ordinary braking, fronts and pump stay quiet",
          "[model]") {
  Case c;
  c.car.rear_brake_nm_per_kpa = 0.16;  // strong rear brakes, as cars with this function have
  const Grip dry{Surface::dry_asphalt, 1.0, 0.5};
  c.ground = {{dry, dry}};
  c.manoeuvre = straight_stop(14.0, 0.5, 3000.0, 0.5);
  c.manoeuvre.phases[1].pedal_rate_kpa_per_s = 6e3;
  const Run run = simulate(c, 1);
  CHECK(any(run, [](const Frame& f) { return f.cause[Corner::rl] == Cause::rear_balance; }));
  CHECK_FALSE(any(run, [](const Frame& f) {
    return f.inlet[Corner::fl] > 0.5 || f.outlet[Corner::fl] > 0.5 || f.pump;
  }));
}

TEST_CASE("every kind of unit keeps the wheels from locking", "[model][unit]") {
  for (UnitKind kind : {UnitKind::two_valve, UnitKind::three_position, UnitKind::motor_piston,
                        UnitKind::high_pressure_store, UnitKind::booster_store})
    for (int channels : {2, 3, 4}) {
      Case c;
      c.unit.kind = kind;
      c.unit.channels = channels;
      c.manoeuvre = straight_stop(14.0, 0.5, 11e3, 0.5);
      const Truth truth = find_truth(simulate(c, 1), c);
      INFO(unit_kind_name(kind) << " " << channels);
      for (Corner corner : {Corner::fl, Corner::fr}) {
        CHECK(truth.corners[corner].locked_s < 0.25);
        const auto& all = truth.corners[corner].releases;
        CHECK(std::count_if(all.begin(), all.end(),
                            [](const Release& r) { return r.fell && r.came_back; }) >= 2);
      }
    }
}

TEST_CASE("a high-pressure store runs its pump by itself, pistons have none", "[model][unit]") {
  Case c;
  c.unit.kind = UnitKind::high_pressure_store;
  c.manoeuvre = straight_stop(14.0, 0.5, 11e3, 3.0);
  CHECK(any(simulate(c, 1), [](const Frame& f) { return f.pump && f.speed_mps == 0.0; }));
  c.unit.kind = UnitKind::motor_piston;
  CHECK_FALSE(any(simulate(c, 1), [](const Frame& f) { return f.pump; }));
}

TEST_CASE("sensor faults reach controller and recorder", "[model][fault]") {
  Case c;
  c.manoeuvre = straight_stop(12.0, 3.0, 10e3, 0.5);
  SECTION("a dead sensor puts the lamp on and the control off") {
    c.faults = {{FaultKind::sensor_dead, 1.0, Corner::rl}};
    const Run run = simulate(c, 1);
    CHECK(run.frames.back().lamp);
    CHECK_FALSE(any(run, [](const Frame& f) { return f.outlet[Corner::fl] > 0.5; }));
  }
  SECTION("a cracked ring dips once a turn") {
    c.faults = {{FaultKind::ring_cracked, 1.0, Corner::fr}};
    CHECK(any(simulate(c, 1), [](const Frame& f) {
      return !f.pedal && f.speed_mps > 11.0 && f.sensed_mps[Corner::fr] < 6.0;
    }));
  }
  SECTION("swapped sensors show the other side's wheel") {
    c.faults = {{FaultKind::sensors_swapped, 1.0, Corner::fl},
                {FaultKind::inlet_stuck_closed, 1.0, Corner::fl}};
    const Run run = simulate(c, 1);
    CHECK(any(run, [](const Frame& f) {
      return f.wheel_mps[Corner::fr] < 0.7 * f.speed_mps && f.speed_mps > 6.0 &&
             f.sensed_mps[Corner::fl] < 0.75 * f.speed_mps;
    }));
  }
  SECTION("a weak supply dips under the pump and ends the control") {
    c.faults = {{FaultKind::supply_dip, 1.0}};
    const Run run = simulate(c, 1);
    CHECK(any(run, [](const Frame& f) { return f.supply_v < 9.5; }));
    CHECK(run.frames.back().lamp);
  }
}

TEST_CASE("a caliper slow to release is not the unit: pressure falls, the wheel does not answer",
          "[model][fault]") {
  Case c;
  c.manoeuvre = straight_stop(12.0, 0.5, 10e3, 0.5);
  c.faults = {{FaultKind::brake_slow_to_release, 1.0, Corner::fl}};
  const Truth truth = find_truth(simulate(c, 1), c);
  int fell = 0, answered = 0;
  const auto& all = truth.corners[Corner::fl].releases;
  for (const Release& r : all) {
    fell += r.fell ? 1 : 0;
    answered += r.answered.value_or(false) ? 1 : 0;
  }
  REQUIRE_FALSE(all.empty());
  CHECK(fell >= 1);
  CHECK(2 * answered <= static_cast<int>(all.size()));
}

TEST_CASE("one dead pump piston starves both wheels of its circuit only", "[model][fault]") {
  Case c;
  c.manoeuvre = straight_stop(16.0, 0.5, 11e3, 0.5);
  c.faults = {{FaultKind::pump_piston_dead, 1.0, Corner::fl, 1}};
  const Run run = simulate(c, 1);
  CHECK(run.frames.back().accumulator_cm3[0] > 2.0);
  CHECK(run.frames.back().accumulator_cm3[1] < 1.0);
}
