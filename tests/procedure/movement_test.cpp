// What a procedure expects of the log is what a healthy car does, and not what its fault leaves.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "log/reader.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "procedure/library.h"
#include "verify/check.h"

using namespace stopledger;

namespace {

using model::Fault;
using model::FaultKind;

/// A procedure as a healthy modelled car does it, and faults that its log must not pass with.
struct Doing {
  const char* procedure;
  std::vector<model::Case> runs;  ///< of one session
  std::vector<Fault> faults;
};

model::Case exercise_stop() {
  model::Case c;
  c.manoeuvre = model::straight_stop(40.0 / 3.6, 3.0, 11e3, 2.0);
  return c;
}

// Stands, and a tool commands the pump for 2.5 s.
model::Case pump_run() {
  model::Case c;
  c.manoeuvre.start_mps = 0.0;
  for (const bool tool : {false, true, false})
    c.manoeuvre.phases.push_back(
        {.duration_s = tool ? 2.5 : 4.0, .pedal_kpa = 1500.0, .tool_pump = tool});
  return c;
}

model::Case with_circuit_valves() {
  model::Case c;
  c.unit.has_isolation_valves = true;
  c.controller.stability = c.controller.traction_brake = c.controller.traction_torque = true;
  return c;
}

// Pulls away, one side on ice.
model::Case split_start(bool ice_left) {
  model::Case c = with_circuit_valves();
  c.ground.front().left.surface = ice_left ? model::Surface::ice : model::Surface::wet_asphalt;
  c.ground.front().right.surface = ice_left ? model::Surface::wet_asphalt : model::Surface::ice;
  c.manoeuvre.start_mps = 0.0;
  c.manoeuvre.phases = {{.duration_s = 2.0, .pedal_kpa = 1500.0},
                        {.duration_s = 3.0, .accelerator = 0.6},
                        {.duration_s = 1.0},
                        {.duration_s = 40.0, .until_standstill = true, .pedal_kpa = 500.0}};
  return c;
}

// A change of direction at 40 km/h that is too much for snow.
model::Case snow_swerve() {
  model::Case c = with_circuit_valves();
  c.ground.front().left.surface = c.ground.front().right.surface = model::Surface::snow;
  const double mps = 40.0 / 3.6;
  c.manoeuvre.start_mps = mps;
  c.manoeuvre.phases = {
      {.duration_s = 2.0, .keep_speed_mps = mps},
      {.duration_s = 1.5, .keep_speed_mps = mps, .steer_rad = 2.4, .steer_rate_rad_per_s = 8.0},
      {.duration_s = 1.0, .steer_rad = -2.0, .steer_rate_rad_per_s = 10.0},
      {.duration_s = 2.0},
      {.duration_s = 45.0, .until_standstill = true, .pedal_kpa = 500.0}};
  return c;
}

Fault stuck(Corner corner) { return {.kind = FaultKind::outlet_stuck_closed, .corner = corner}; }

std::vector<Doing> doings() {
  const Fault off{.kind = FaultKind::control_off};
  const std::vector<model::Case> stops(2, exercise_stop());
  return {{"stop-fronts", stops, {stuck(Corner::fl), stuck(Corner::fr), off}},
          {"stop-rears", stops, {stuck(Corner::rl), stuck(Corner::rr), off}},
          {"stop-response", stops, {stuck(Corner::fl), stuck(Corner::rr), off}},
          {"pump-run", {pump_run()}, {{.kind = FaultKind::pump_dead}}},
          // Each driven wheel in turn works the valves of its circuit.
          {"traction-start", {split_start(true), split_start(false)}, {off}},
          {"stability-gentle", {snow_swerve()}, {off}}};
}

Log recorded(const model::Case& c, std::uint64_t seed) {
  model::Recorder recorder;
  recorder.channels = model::wheel_speed_roles();
  for (const Role& role : model::valve_roles(c.unit)) recorder.channels.push_back(role);
  using enum QuantityKind;
  for (const QuantityKind quantity : {pump, supply_voltage, throttle, accelerator, brake_switch,
                                      yaw_rate, accel_lat, steering_angle})
    recorder.channels.push_back(Role::of_car(quantity));
  if (c.unit.has_isolation_valves)
    for (const int circuit : {1, 2})
      for (const QuantityKind quantity : {isolation, prime})
        recorder.channels.push_back(Role::of_circuit(quantity, circuit));
  recorder.rate_hz = 100.0;
  ReadOptions reading;
  reading.car = model::car_facts(c);
  return read_log_text(model::record_run(model::simulate(c, seed), c, recorder, 3).text, "run.csv",
                       reading);
}

CheckOutcome checked(std::vector<model::Case> runs, const std::vector<Fault>& faults,
                     const Procedure& procedure) {
  std::vector<Log> logs;
  for (model::Case& c : runs) {
    c.faults = faults;
    logs.push_back(recorded(c, 10 + logs.size()));
  }
  return check_logs(logs, model::car_facts(runs.front()), &*procedure.expectation);
}

// As the exit status of check --procedure.
bool met(const CheckOutcome& outcome, const Expectation& expected) {
  for (const Corner corner : all_corners)
    if (outcome.corners[corner].asked && outcome.corners[corner].enough != true) return false;
  if (!expected.pump_asked && !expected.circuits_asked) return true;
  const Result rest = result_of_the_rest(outcome, expected);
  return rest == Result::exercised || rest == Result::commanded;
}

}  // namespace

TEST_CASE("a healthy car meets what a procedure expects, its fault does not",
          "[procedure][movement]") {
  for (const Doing& doing : doings()) {
    const Procedure procedure = find_procedure(doing.procedure);
    INFO(doing.procedure);
    REQUIRE(procedure.expectation);
    CHECK(met(checked(doing.runs, {}, procedure), *procedure.expectation));
    CHECK_FALSE(doing.faults.empty());
    for (const Fault& fault : doing.faults) {
      INFO(model::fault_name(fault.kind) << " " << corner_name(fault.corner));
      CHECK_FALSE(met(checked(doing.runs, {fault}, procedure), *procedure.expectation));
    }
  }
}

TEST_CASE("no expected movement goes without that test", "[procedure][movement]") {
  const auto all = doings();
  for (const Procedure& procedure : load_procedures()) {
    if (!procedure.expectation) continue;
    INFO(procedure.id);
    CHECK(std::any_of(all.begin(), all.end(),
                      [&](const Doing& doing) { return doing.procedure == procedure.id; }));
  }
}

TEST_CASE("a pump that draws no current is told from one that runs", "[procedure][movement]") {
  const Procedure procedure = find_procedure("pump-run");
  const CheckOutcome healthy = checked({pump_run()}, {}, procedure);
  CHECK(healthy.pump.result == Result::exercised);
  CHECK(*healthy.pump.on_s == Approx(2.5).margin(0.05));  // two samples
  const CheckOutcome silent = checked({pump_run()}, {{.kind = FaultKind::pump_dead}}, procedure);
  CHECK(silent.pump.result == Result::suspect);
  CHECK(std::any_of(silent.findings.begin(), silent.findings.end(), [](const Finding& finding) {
    return finding.id == "pump-silent" && finding.text.find("did not dip") != std::string::npos;
  }));
}
