#include "model/antilock.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace stopledger::model {

std::string_view cause_name(Cause cause) {
  switch (cause) {
    case Cause::none:
      return "none";
    case Cause::antilock:
      return "antilock";
    case Cause::rear_balance:
      return "rear-balance";
    case Cause::stability_build:
      return "stability-build";
    case Cause::kept_vented:
      return "kept-vented";
    case Cause::traction_build:
      return "traction-build";
    case Cause::self_test:
      return "self-test";
    case Cause::clearing:
      break;
  }
  return "clearing";
}

double WheelView::fastest() const {
  double v = 0.0;
  for (Corner corner : all_corners)
    if (!lost[corner]) v = std::max(v, speed_mps[corner]);
  return v;
}

double WheelView::slip(Corner corner, double reference_mps) const {
  return lost[corner] ? 0.0 : 1.0 - speed_mps[corner] / std::max(reference_mps, 0.5);
}

void ReferenceSpeed::update(const WheelView& wheels, bool pedal, bool controlling, double t_s,
                            double dt_s) {
  const double fastest = wheels.fastest();
  if (!pedal) {
    // Driven wheels may spin: the slower ones know the road.
    std::array<double, 4> speeds = wheels.speed_mps.values;
    for (Corner corner : all_corners)
      if (wheels.lost[corner]) speeds[static_cast<std::size_t>(corner)] = fastest;
    std::nth_element(speeds.begin(), speeds.begin() + 1, speeds.end());
    reference_ = speeds[1];
    anchor_t_ = t_s;
    anchor_v_ = reference_;
    learnt_ = false;
    return;
  }
  // Falls no faster than the car can slow down: first as it did from the pedal to the first
  // control, then as learnt from the moments when the fastest wheel rolls steadily again.
  double since = t_s - anchor_t_;
  if (controlling && !learnt_) {
    // Deceleration grew about evenly from nothing, so at the end it was twice its mean.
    deceleration_ = std::clamp(2.0 * (anchor_v_ - reference_) / std::max(since, 0.05), 1.5, 10.0);
    learnt_ = true;
    anchor_t_ = t_s;
    anchor_v_ = reference_;
    since = 0.0;
  }
  double accel = -100.0;  // of the fastest wheel
  for (Corner corner : all_corners)
    if (!wheels.lost[corner] && wheels.speed_mps[corner] >= fastest)
      accel = wheels.accel_mps2[corner];
  const bool steady = accel > -14.0 && accel < 4.0;
  below_s_ = steady && fastest < reference_ ? below_s_ + dt_s : 0.0;
  // A fastest wheel that goes on rolling steadily below the reference proves it too high.
  const double limit = controlling && below_s_ < 0.15 ? 1.3 * deceleration_ + 0.6 : 12.0;
  reference_ = std::max(fastest, reference_ - limit * dt_s);
  if (!learnt_ || since < 0.12 || fastest < reference_ || !steady) return;
  deceleration_ += 0.5 * (std::clamp((anchor_v_ - fastest) / since, 0.3, 11.0) - deceleration_);
  anchor_t_ = t_s;
  anchor_v_ = fastest;
}

AntilockChannel::AntilockChannel(const ControllerDesign& design, std::vector<Corner> corners,
                                 std::vector<Corner> watched)
    : design_(design), corners_(std::move(corners)), watched_(std::move(watched)) {}

void AntilockChannel::enter(State state) {
  state_ = state;
  in_state_s_ = 0.0;
  outlet_left_s_ = outlet_gap_s_ = inlet_left_s_ = 0.0;
  if (state == State::release)
    outlet_left_s_ = design_.release_gap_s > 0.0 ? design_.release_on_s : design_.release_max_s;
  if (state == State::rebuild) {
    steps_ = 0;
    inlet_left_s_ = design_.first_step_s;
    step_wait_s_ = design_.step_off_s;
  }
}

void AntilockChannel::loop(const WheelView& wheels, double reference_mps, bool pedal, double dt_s) {
  double slip = 0.0, accel = 1e9;
  for (Corner corner : watched_) {
    if (wheels.lost[corner]) continue;
    slip = std::max(slip, wheels.slip(corner, reference_mps));
    accel = std::min(accel, wheels.accel_mps2[corner]);
  }
  in_state_s_ += dt_s;
  delay_s_ -= dt_s;
  if (accel > 1e8 || !pedal || reference_mps < design_.end_speed_mps) {
    if (state_ != State::idle) enter(State::idle);
    return;
  }
  const bool diving = accel < -design_.release_decel_mps2;
  const bool deep = slip > design_.slip_high;
  const bool unstable = deep || (diving && slip > design_.slip_low);
  switch (state_) {
    case State::idle:
      if (unstable)
        enter(State::release);
      else if (diving && slip > 0.3 * design_.slip_low &&
               reference_mps > 2.0 * design_.end_speed_mps)
        enter(State::hold_first);
      break;
    case State::hold_first:
      if (unstable)
        enter(State::release);
      else if (in_state_s_ > 0.06)
        enter(State::rebuild);
      break;
    case State::release: {
      const bool recovering = accel > design_.recover_accel_mps2 || slip < 0.5 * design_.slip_low;
      const bool long_enough =
          in_state_s_ > design_.release_max_s && !diving && slip < design_.slip_high;
      if ((recovering && in_state_s_ >= design_.loop_s) || long_enough) {
        enter(State::hold_second);
      } else if (outlet_left_s_ <= 0.0) {
        outlet_gap_s_ -= dt_s;
        if (outlet_gap_s_ > 0.0) break;
        outlet_left_s_ = design_.release_gap_s > 0.0 ? design_.release_on_s : design_.release_max_s;
        outlet_gap_s_ = design_.release_gap_s;
      }
      break;
    }
    case State::hold_second:
      if (deep && accel < 0.0 && in_state_s_ > 0.03)
        enter(State::release);
      else if ((accel > design_.high_accel_mps2 && slip < design_.slip_high) ||
               (slip < design_.slip_low && accel < design_.recover_accel_mps2))
        enter(State::rebuild);
      else if (in_state_s_ > design_.hold_max_s)
        enter(deep ? State::release : State::rebuild);
      break;
    case State::rebuild:
      if (unstable) {
        enter(State::release);
      } else if (design_.rebuild == RebuildStyle::stepped && inlet_left_s_ <= 0.0 &&
                 delay_s_ <= 0.0) {
        step_wait_s_ -= dt_s;
        if (step_wait_s_ > 0.0) break;
        inlet_left_s_ = design_.step_on_s;
        step_wait_s_ = design_.step_off_s;
        if (++steps_ > design_.steps_max) enter(State::idle);
      } else if (design_.rebuild == RebuildStyle::coarse && in_state_s_ > 0.5) {
        enter(State::idle);
      }
      break;
  }
}

void AntilockChannel::balance(const WheelView& wheels, double reference_mps, bool pedal,
                              double front_slip, double dt_s) {
  if (!pedal || reference_mps < design_.end_speed_mps) {
    balance_ = false;
    return;
  }
  double slip = 0.0;
  for (Corner corner : watched_) slip = std::max(slip, wheels.slip(corner, reference_mps));
  const double limit = std::max(front_slip, 0.0) + design_.balance_slip;
  if (!balance_ && slip > limit) balance_ = true;
  if (!balance_ || state_ != State::idle) return;
  balance_wait_s_ -= dt_s;
  if (slip < 0.5 * limit && balance_wait_s_ <= 0.0) {  // rear can take a little more
    inlet_left_s_ = 0.006;
    balance_wait_s_ = 0.12;
  } else if (slip > 2.0 * limit + 0.02 && outlet_left_s_ <= 0.0 && balance_wait_s_ <= 0.0) {
    outlet_left_s_ = 0.008;  // some units also let a little out
    balance_wait_s_ = 0.06;
  }
}

void AntilockChannel::drive(ValveCommand& out, const PerCorner<bool>& never, double dt_s) {
  double inlet = 0.0, outlet = 0.0;
  Cause cause = state_ == State::idle ? Cause::none : Cause::antilock;
  outlet_left_s_ -= dt_s;
  inlet_left_s_ -= dt_s;
  switch (state_) {
    case State::idle:
      if (!balance_) break;
      cause = Cause::rear_balance;
      inlet = inlet_left_s_ > 0.0 ? 0.0 : 1.0;
      outlet = outlet_left_s_ > 0.0 ? 1.0 : 0.0;
      break;
    case State::hold_first:
    case State::hold_second:
      inlet = 1.0;
      break;
    case State::release:
      inlet = 1.0;
      outlet = outlet_left_s_ > 0.0 ? 1.0 : 0.0;
      break;
    case State::rebuild:
      if (delay_s_ > 0.0 && inlet_left_s_ <= 0.0)
        inlet = 1.0;
      else if (design_.rebuild == RebuildStyle::stepped)
        inlet = inlet_left_s_ > 0.0 ? 0.0 : 1.0;
      else if (design_.rebuild == RebuildStyle::partial)
        inlet = 1.0 - design_.partial_opening;
      break;
  }
  for (Corner corner : corners_) {
    if (never[corner]) continue;
    out.unit.inlet[corner] = inlet;
    out.unit.outlet[corner] = outlet;
    out.cause[corner] = cause;
  }
}

}  // namespace stopledger::model
