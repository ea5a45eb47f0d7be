#pragma once

#include <vector>

#include "model/active_brake.h"
#include "model/antilock.h"
#include "model/case.h"

namespace stopledger::model {

/// What the controller is told each step.
struct SensorInput {
  double t_s = 0.0;
  PerCorner<double> wheel_mps;  ///< as sensed, already in circumferential speed
  MotionInput motion;
  double supply_v = 13.5;
  double store_kpa = 0.0;  ///< high-pressure store
};

/// What the controller does and shows.
struct ControllerOutput {
  ValveCommand valves;
  double torque_factor = 1.0;  ///< engine torque let through
  bool antilock_active = false, stability_active = false, traction_active = false;
  bool lamp = false;
  double reference_mps = 0.0;
};

/// Anti-lock, rear balance, stability, traction, self-test and the watch over its own inputs, as
/// one invented family of designs (ControllerDesign).
class Controller {
 public:
  explicit Controller(const Case& c);
  Controller(const Controller&) = delete;  // its channels refer to design_
  Controller& operator=(const Controller&) = delete;

  /// Runs one integration step; the logic itself runs once per controller loop, valve pulses end
  /// on the step.
  const ControllerOutput& step(const SensorInput& in, double dt_s);

 private:
  void loop(const SensorInput& in, double dt_s);
  void watch(const SensorInput& in, double dt_s);
  void self_test(double dt_s);

  const ControllerDesign design_;
  const Unit unit_;
  bool switched_off_ = false;
  PerCorner<bool> never_;
  std::vector<AntilockChannel> channels_;
  ActiveBrake active_;
  ReferenceSpeed reference_;
  WheelView wheels_;
  ControllerOutput out_;
  bool primed_ = false, off_ = false;
  double since_loop_s_ = 0.0;
  bool antilock_ = false, was_antilock_ = false, pumping_ = false;
  double pump_left_s_ = 0.0, clearing_left_s_ = 0.0, test_s_ = -1.0;
  bool tested_ = false, charging_ = false;
  PerCorner<double> silent_s_;
  double low_supply_s_ = 0.0;
};

}  // namespace stopledger::model
