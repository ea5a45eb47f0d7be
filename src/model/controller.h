#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "model/case.h"
#include "model/hydraulics.h"
#include "model/random.h"

namespace stopledger::model {

/// Why a valve is being driven; kept with every frame so that the truth can tell them apart.
enum class Cause : std::uint8_t {
  none,
  antilock,
  rear_balance,
  stability_build,
  kept_vented,
  traction_build,
  self_test,
  clearing
};

std::string_view cause_name(Cause cause);

/// What the controller is told each loop.
struct SensorInput {
  double t_s = 0.0;
  PerCorner<double> wheel_mps;  ///< as sensed, already in circumferential speed
  bool pedal = false;
  double master_kpa = 0.0;
  double yaw_rate = 0.0, lateral_mps2 = 0.0, steer_rad = 0.0;
  double accelerator = 0.0;
  double supply_v = 13.5;
};

/// What the controller does and shows.
struct ControllerOutput {
  UnitCommand command;
  PerCorner<Cause> cause;
  double torque_factor = 1.0;  ///< engine torque let through
  bool antilock_active = false, stability_active = false, traction_active = false;
  bool lamp = false;
  double reference_mps = 0.0;
};

/// Anti-lock, rear balance, stability, traction and self-test in one invented design family.
///
/// Cycle of one channel as the handbooks describe it (CT-11, CT-23): deceleration past -a: hold;
/// slip past its limit: release; wheel accelerating again: hold; wheel regained: rebuild in steps
/// until -a comes again.
class Controller {
 public:
  explicit Controller(const Case& c);

  /// Runs one integration step; the logic itself runs once per controller loop, valve pulses end
  /// on the step.
  const ControllerOutput& step(const SensorInput& in, double dt_s);

 private:
  enum class State : std::uint8_t { idle, hold_first, release, hold_second, rebuild };
  struct Channel {
    std::vector<Corner> corners;  // driven together
    std::vector<Corner> watched;  // the worst of these decides
    State state = State::idle;
    double in_state_s = 0.0;
    double outlet_left_s = 0.0, outlet_gap_s = 0.0;
    double inlet_left_s = 0.0;  // apply pulse left
    double step_wait_s = 0.0;
    int steps = 0;
    double peak_accel = 0.0;
    double control_s = 0.0;
    bool balance = false;
    double balance_pulse_s = 0.0;
  };

  void loop(const SensorInput& in, double dt_s);
  void update_reference(const SensorInput& in, double dt_s);
  void antilock(Channel& channel, const SensorInput& in, double dt_s);
  void rear_balance(Channel& channel, double slip_front, double slip, double dt_s);
  void drive_valves(Channel& channel, double dt_s);
  void enter(Channel& channel, State state);

  ControllerDesign design_;
  Car car_;
  bool off_ = false;
  PerCorner<bool> never_;
  PerCorner<bool> lost_;
  std::vector<Channel> channels_;
  ControllerOutput out_;
  PerCorner<double> speed_, accel_;
  bool primed_ = false;
  double since_loop_s_ = 0.0;
  double reference_ = 0.0, anchor_v_ = 0.0, anchor_t_ = 0.0, deceleration_ = 5.0;
  double below_s_ = 0.0;
  bool learnt_ = false;
  bool any_antilock_ = false;
  double antilock_s_ = 0.0;
  double pump_left_s_ = 0.0;
  double test_t_ = -1.0;
  bool tested_ = false;
  double clearing_left_s_ = 0.0;
};

}  // namespace stopledger::model
