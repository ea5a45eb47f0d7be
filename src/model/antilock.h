#pragma once

#include <cstdint>
#include <vector>

#include "model/case.h"
#include "model/hydraulics.h"

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

/// Wheel speeds as the controller sees them after its filter.
struct WheelView {
  PerCorner<double> speed_mps, accel_mps2;
  PerCorner<bool> lost;  ///< sensor given up

  [[nodiscard]] double fastest() const;
  [[nodiscard]] double slip(Corner corner, double reference_mps) const;
};

/// The controller's idea of the car's speed while all wheels may slip.
class ReferenceSpeed {
 public:
  void update(const WheelView& wheels, bool pedal, bool controlling, double t_s, double dt_s);
  [[nodiscard]] double mps() const { return reference_; }
  void start(double mps) { reference_ = mps; }

 private:
  double reference_ = 0.0, anchor_v_ = 0.0, anchor_t_ = 0.0, deceleration_ = 5.0, below_s_ = 0.0;
  bool learnt_ = false;
};

/// Valve commands of the whole unit with their causes.
struct ValveCommand {
  UnitCommand unit;
  PerCorner<Cause> cause;
};

/// Anti-lock and rear balance of one hydraulic channel.
///
/// The cycle is the handbooks' (CT-11, CT-23): deceleration past -a: hold; slip past its limit:
/// release; wheel accelerating again: hold; wheel regained: rebuild until -a comes again.
class AntilockChannel {
 public:
  /// `corners` are driven together; the worst of `watched` decides.
  AntilockChannel(const ControllerDesign& design, std::vector<Corner> corners,
                  std::vector<Corner> watched);

  /// One controller loop. `build_wait_s` slows the first build-up (split surfaces).
  void loop(const WheelView& wheels, double reference_mps, bool pedal, double dt_s);
  /// Holds back rear pressure in ordinary braking, compared with the front wheels' slip.
  void balance(const WheelView& wheels, double reference_mps, bool pedal, double front_slip,
               double dt_s);
  void drive(ValveCommand& out, const PerCorner<bool>& never, double dt_s);

  [[nodiscard]] bool active() const { return state_ != State::idle; }
  [[nodiscard]] bool balancing() const { return balance_; }
  [[nodiscard]] bool releasing() const { return state_ == State::release; }
  [[nodiscard]] const std::vector<Corner>& corners() const { return corners_; }
  /// Holds this channel's pressure for a while although its wheel could take more: softens the
  /// yaw on split surfaces.
  void delay_build(double s) { delay_s_ = s; }

 private:
  enum class State : std::uint8_t { idle, hold_first, release, hold_second, rebuild };
  void enter(State state);

  const ControllerDesign& design_;
  std::vector<Corner> corners_, watched_;
  State state_ = State::idle;
  double in_state_s_ = 0.0;
  double outlet_left_s_ = 0.0, outlet_gap_s_ = 0.0;  // release pulse and pause left
  double inlet_left_s_ = 0.0, step_wait_s_ = 0.0;    // apply pulse and pause left
  double delay_s_ = 0.0;
  int steps_ = 0;
  bool balance_ = false;
  double balance_wait_s_ = 0.0;
};

}  // namespace stopledger::model
