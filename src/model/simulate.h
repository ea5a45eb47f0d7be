#pragma once

#include <cstdint>
#include <vector>

#include "model/body.h"
#include "model/case.h"
#include "model/controller.h"

namespace stopledger::model {

/// Everything at one instant; SI, pressures in kPa. States 0 or 1 unless part-current.
struct Frame {
  double t_s = 0.0;
  double way_m = 0.0, speed_mps = 0.0, side_mps = 0.0;
  double accel_mps2 = 0.0, lateral_mps2 = 0.0, yaw_rate = 0.0;
  double steer_rad = 0.0;  ///< steering wheel
  double accelerator = 0.0, throttle = 0.0;
  double master_kpa = 0.0;
  double supply_v = 0.0;
  double reference_mps = 0.0;
  bool pedal = false, pump = false, lamp = false;
  bool antilock = false, stability = false, traction = false;
  double pump_speed = 0.0;  ///< share of the motor's full speed
  std::array<bool, 2> isolation{}, prime{};
  std::array<double, 2> accumulator_cm3{};
  PerCorner<double> wheel_mps;   ///< true circumferential speed
  PerCorner<double> sensed_mps;  ///< what the controller and the recorder are told
  PerCorner<double> slip, load_n, pressure_kpa, clamp_kpa;
  PerCorner<double> inlet, outlet;  ///< coil commands
  PerCorner<Cause> cause;
};

/// One simulated run: one frame per step.
struct Run {
  double step_s = 0.001;
  std::vector<Frame> frames;
  EnergyLedger energy;
  double kinetic_end_j = 0.0;

  [[nodiscard]] double duration_s() const { return frames.empty() ? 0.0 : frames.back().t_s; }
};

/// Drives the case from its first phase to its last. Same case, same seed: same frames.
///
/// `seed` moves only what differs between two runs of the same car on the same ground: small-scale
/// friction texture, sensor noise, the driver's foot.
Run simulate(const Case& c, std::uint64_t seed);

}  // namespace stopledger::model
