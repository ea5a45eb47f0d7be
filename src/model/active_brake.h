#pragma once

#include <optional>
#include <vector>

#include "model/antilock.h"

namespace stopledger::model {

/// What stability and traction look at, besides the wheels.
struct MotionInput {
  double yaw_rate = 0.0, steer_rad = 0.0;  ///< steering wheel
  double accelerator = 0.0;
  bool pedal = false;
};

/// Braking of single wheels by the pump: isolation valve shut, prime valve open, the wheel's own
/// inlet pulsed, the other wheel of the circuit kept vented (CT-50 to CT-53; trade practice).
class ActiveBrake {
 public:
  explicit ActiveBrake(const Case& c);

  /// One controller loop: which wheels to build up, hold or let go.
  void stability(const WheelView& wheels, double reference_mps, const MotionInput& motion,
                 double dt_s);
  void traction(const WheelView& wheels, double reference_mps, const MotionInput& motion,
                double dt_s);
  void drive(ValveCommand& out, const PerCorner<bool>& never, double dt_s);

  [[nodiscard]] bool stability_active() const { return stability_s_ > 0.0; }
  [[nodiscard]] bool traction_active() const { return traction_s_ > 0.0; }
  [[nodiscard]] bool pump() const { return pump_; }
  [[nodiscard]] double torque_factor() const { return torque_; }
  /// Yaw rate that the driver asks for: bicycle model, limited by friction (VD-03, VD-06).
  [[nodiscard]] double wanted_yaw(double reference_mps, double steer_rad) const;

 private:
  enum class Move : std::uint8_t { none, build, hold, release };
  struct Wheel {
    Move move = Move::none;
    double in_move_s = 0.0;
    double pulse_left_s = 0.0, pause_s = 0.0;
    Cause cause = Cause::none;
  };
  void set(Corner corner, Move move, Cause cause);
  void follow(Corner corner, double demand, double slip, Cause cause, double dt_s);

  ControllerDesign design_;
  Car car_;
  bool has_valves_;
  PerCorner<Wheel> wheel_;
  double stability_s_ = 0.0, traction_s_ = 0.0;  // time left that the function counts as active
  double torque_ = 1.0;
  double wanted_ = 0.0;  // yaw rate asked for, lagged
  bool pump_ = false;
};

}  // namespace stopledger::model
