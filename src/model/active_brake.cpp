#include "model/active_brake.h"

#include <algorithm>
#include <cmath>

#include "base/quantity.h"

namespace stopledger::model {
namespace {

constexpr double build_pulse_s = 0.012;
constexpr double build_pause_s = 0.020;
constexpr double let_go_s = 0.25;                    // release after the intervention
constexpr double stability_floor_mps = 20.0 / 3.6;   // works above 20 km/h (EC-02)
constexpr double traction_ceiling_mps = 60.0 / 3.6;  // brakes for pulling away only
constexpr double yaw_lag_s = 0.12;
constexpr double oversteer_rad_s = 0.08, understeer_rad_s = 0.12;
constexpr double assumed_grip = 0.85 * 0.7;  // of mu g / v, the controller does not know mu

}  // namespace

ActiveBrake::ActiveBrake(const Case& c)
    : design_(c.controller), car_(c.car), has_valves_(c.unit.has_isolation_valves) {}

double ActiveBrake::wanted_yaw(double reference_mps, double steer_rad) const {
  const double v = std::max(reference_mps, 1.0);
  const double k = 1.0 / car_.front_lateral_stiffness - 1.0 / car_.rear_lateral_stiffness;
  const double wanted =
      v * steer_rad / car_.steering_ratio / (car_.wheelbase_m + k * v * v / gravity_mps2);
  const double limit = assumed_grip * gravity_mps2 / v;
  return std::clamp(wanted, -limit, limit);
}

void ActiveBrake::set(Corner corner, Move move, Cause cause) {
  Wheel& w = wheel_[corner];
  if (w.move != move) w.in_move_s = 0.0;
  w.move = move;
  if (move != Move::none) w.cause = cause;
}

/// `demand` above 1 builds, between 0.5 and 1 holds, below lets go.
void ActiveBrake::follow(Corner corner, double demand, double slip, Cause cause, double dt_s) {
  Wheel& w = wheel_[corner];
  w.in_move_s += dt_s;
  if (w.move != Move::none && w.cause != cause) return;  // the other function has this wheel
  const bool over_braked = slip > 0.25;
  if (demand > 1.0) {
    set(corner, over_braked ? (slip > 0.4 ? Move::release : Move::hold) : Move::build, cause);
  } else if (w.move != Move::none) {
    if (demand > 0.5)
      set(corner, over_braked ? Move::release : Move::hold, cause);
    else if (w.move != Move::release)
      set(corner, Move::release, cause);
    else if (w.in_move_s > let_go_s)
      set(corner, Move::none, cause);
  }
}

void ActiveBrake::stability(const WheelView& wheels, double reference_mps,
                            const MotionInput& motion, double dt_s) {
  stability_s_ -= dt_s;
  if (!design_.stability) return;
  PerCorner<double> demand;
  if (reference_mps > stability_floor_mps && !motion.pedal) {
    // A car answers its steering with a lag; what is asked for gets the same one.
    wanted_ += (wanted_yaw(reference_mps, motion.steer_rad) - wanted_) * dt_s / yaw_lag_s;
    const double wanted = wanted_;
    const double turn = motion.yaw_rate >= 0.0 ? 1.0 : -1.0;
    const bool left_turn = turn > 0.0;
    const double over = (motion.yaw_rate - wanted) * turn;
    const double wanted_turn = wanted >= 0.0 ? 1.0 : -1.0;
    const double under = (wanted - motion.yaw_rate) * wanted_turn;
    // Oversteer: outside front. Understeer: inside rear (EC-16).
    if (over > 0.0 && std::abs(motion.yaw_rate) > 0.1)
      demand[left_turn ? Corner::fr : Corner::fl] = over / oversteer_rad_s;
    else if (under > 0.0)
      demand[wanted_turn > 0.0 ? Corner::rl : Corner::rr] = under / understeer_rad_s;
  }
  bool acting = false;
  for (Corner corner : all_corners) {
    follow(corner, demand[corner], wheels.slip(corner, reference_mps), Cause::stability_build,
           dt_s);
    acting = acting ||
             (wheel_[corner].move != Move::none && wheel_[corner].cause == Cause::stability_build);
  }
  if (acting) stability_s_ = std::max(stability_s_, 1e-9 + dt_s);
}

void ActiveBrake::traction(const WheelView& wheels, double reference_mps, const MotionInput& motion,
                           double dt_s) {
  traction_s_ -= dt_s;
  if (!design_.traction_torque && !design_.traction_brake) return;
  const double allowed = 0.8 + 0.08 * reference_mps;
  double worst = 0.0;
  PerCorner<double> spin;
  for (Corner corner : all_corners) {
    const bool driven =
        car_.drive == Drive::all || (car_.drive == Drive::front) == is_front(corner);
    if (!driven || motion.accelerator < 0.03 || motion.pedal || wheels.lost[corner]) continue;
    spin[corner] = (wheels.speed_mps[corner] - reference_mps) / allowed;
    worst = std::max(worst, spin[corner]);
  }
  if (design_.traction_torque) {
    const double limit = design_.traction_brake ? 2.0 : 1.0;  // the brake acts first
    if (worst > limit)
      torque_ = std::max(torque_ - 3.5 * dt_s * std::min(worst, 3.0),
                         design_.traction_brake ? 0.4 : 0.12);
    else
      torque_ = std::min(torque_ + 0.6 * dt_s, 1.0);
    if (motion.accelerator < 0.03) torque_ = 1.0;
  }
  bool acting = torque_ < 0.98;
  if (design_.traction_brake && has_valves_) {
    for (Corner corner : all_corners) {
      // Only the one that spins more than its partner: braking both is the engine's job.
      const double more = spin[corner] - 0.5 * std::max(spin[axle_partner(corner)], 0.0);
      const double demand = reference_mps < traction_ceiling_mps ? more : 0.0;
      follow(corner, demand, 0.0, Cause::traction_build, dt_s);
      acting = acting ||
               (wheel_[corner].move != Move::none && wheel_[corner].cause == Cause::traction_build);
    }
  }
  if (acting) traction_s_ = std::max(traction_s_, 1e-9 + dt_s);
}

void ActiveBrake::drive(ValveCommand& out, const PerCorner<bool>& never, double dt_s) {
  pump_ = false;
  for (Corner corner : all_corners) {
    Wheel& w = wheel_[corner];
    if (w.move == Move::none || never[corner]) continue;
    const auto circuit = static_cast<std::size_t>(circuit_of(car_.split, corner).value_or(1) - 1);
    out.unit.isolation[circuit] = true;
    pump_ = true;
    out.cause[corner] = w.cause;
    out.unit.outlet[corner] = w.move == Move::release ? 1.0 : 0.0;
    out.unit.inlet[corner] = 1.0;
    if (w.move == Move::build) {
      out.unit.prime[circuit] = true;
      w.pulse_left_s -= dt_s;
      if (w.pulse_left_s < -build_pause_s) w.pulse_left_s = build_pulse_s;
      if (w.pulse_left_s > 0.0) out.unit.inlet[corner] = 0.0;
    }
    // The other wheel of the circuit stays free of pressure, whatever its inlet leaks.
    for (Corner other : all_corners) {
      if (other == corner || circuit_of(car_.split, other) != circuit_of(car_.split, corner))
        continue;
      if (wheel_[other].move != Move::none || never[other]) continue;
      out.unit.inlet[other] = 1.0;
      out.unit.outlet[other] = design_.vents_partner ? 1.0 : 0.0;
      out.cause[other] = Cause::kept_vented;
    }
  }
}

}  // namespace stopledger::model
