#include "model/controller.h"

#include <algorithm>
#include <cmath>

namespace stopledger::model {
namespace {

constexpr double accel_filter_s = 0.012;  // wheel acceleration from differenced, smoothed speed
constexpr double test_pump_s = 0.5;       // drive-off self-test: pump blip and valve ticks
constexpr double test_tick_s = 0.008;

}  // namespace

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

Controller::Controller(const Case& c) : design_(c.controller), car_(c.car) {
  for (const Fault& fault : c.faults) {
    if (fault.degree <= 0.0) continue;
    if (fault.kind == FaultKind::control_off) off_ = true;
    if (fault.kind == FaultKind::never_commanded) never_[fault.corner] = true;
  }
  const auto add = [this](std::vector<Corner> corners, std::vector<Corner> watched) {
    Channel channel;
    channel.corners = std::move(corners);
    channel.watched = std::move(watched);
    channels_.push_back(std::move(channel));
  };
  using enum Corner;
  switch (c.unit.channels) {
    case 1:  // rear axle only
      add({rl, rr}, {rl, rr});
      break;
    case 2:  // front wheel and the rear wheel of its circuit; the front one decides
      add({fl, diagonal_partner(fl)}, {fl});
      add({fr, diagonal_partner(fr)}, {fr});
      break;
    case 3:
      add({fl}, {fl});
      add({fr}, {fr});
      add({rl, rr}, {rl, rr});
      break;
    default:
      add({fl}, {fl});
      add({fr}, {fr});
      if (design_.rear_select_low) {
        add({rl, rr}, {rl, rr});
      } else {
        add({rl}, {rl});
        add({rr}, {rr});
      }
  }
}

void Controller::enter(Channel& channel, State state) {
  channel.state = state;
  channel.in_state_s = 0.0;
  channel.outlet_left_s = channel.outlet_gap_s = channel.inlet_left_s = 0.0;
  switch (state) {
    case State::release:
      channel.outlet_left_s =
          design_.release_gap_s > 0.0 ? design_.release_on_s : design_.release_max_s;
      break;
    case State::hold_second:
      channel.peak_accel = 0.0;
      break;
    case State::rebuild:
      channel.steps = 0;
      channel.inlet_left_s = design_.first_step_s;
      channel.step_wait_s = design_.step_off_s;
      break;
    default:
      break;
  }
}

void Controller::update_reference(const SensorInput& in, double dt_s) {
  double fastest = 0.0;
  for (Corner corner : all_corners)
    if (!lost_[corner]) fastest = std::max(fastest, speed_[corner]);
  if (!in.pedal) {
    // Driven wheels may spin: the slower ones know the road.
    std::array<double, 4> speeds = speed_.values;
    for (Corner corner : all_corners)
      if (lost_[corner]) speeds[static_cast<std::size_t>(corner)] = fastest;
    std::nth_element(speeds.begin(), speeds.begin() + 1, speeds.end());
    reference_ = speeds[1];
    anchor_t_ = in.t_s;
    anchor_v_ = reference_;
    learnt_ = false;
    return;
  }
  // Falls no faster than the car can slow down: first as it did from the pedal to the first
  // control, then as learnt from the moments when the fastest wheel rolls steadily again.
  double since = in.t_s - anchor_t_;
  if (any_antilock_ && !learnt_) {
    // Deceleration grew about evenly from nothing, so at the end it was twice its mean.
    deceleration_ = std::clamp(2.0 * (anchor_v_ - reference_) / std::max(since, 0.05), 1.5, 10.0);
    learnt_ = true;
    anchor_t_ = in.t_s;
    anchor_v_ = reference_;
    since = 0.0;
  }
  double accel = -100.0;  // of the fastest wheel
  for (Corner corner : all_corners)
    if (!lost_[corner] && speed_[corner] >= fastest) accel = accel_[corner];
  const bool steady = accel > -14.0 && accel < 4.0;
  below_s_ = steady && fastest < reference_ ? below_s_ + dt_s : 0.0;
  // A fastest wheel that goes on rolling steadily below the reference proves it too high.
  const double limit = any_antilock_ && below_s_ < 0.15 ? 1.3 * deceleration_ + 0.6 : 12.0;
  reference_ = std::max(fastest, reference_ - limit * dt_s);
  if (!learnt_ || since < 0.12 || fastest < reference_ || !steady) return;
  deceleration_ += 0.5 * (std::clamp((anchor_v_ - fastest) / since, 0.3, 11.0) - deceleration_);
  anchor_t_ = in.t_s;
  anchor_v_ = fastest;
}

void Controller::antilock(Channel& channel, const SensorInput& in, double dt_s) {
  double slip = 0.0, accel = 1e9;
  for (Corner corner : channel.watched) {
    if (lost_[corner]) continue;
    slip = std::max(slip, 1.0 - speed_[corner] / std::max(reference_, 0.5));
    accel = std::min(accel, accel_[corner]);
  }
  if (accel > 1e8) return;  // no sensor left for this channel
  channel.in_state_s += dt_s;
  if (channel.state != State::idle) channel.control_s += dt_s;
  if (!in.pedal || reference_ < design_.end_speed_mps) {
    if (channel.state != State::idle) enter(channel, State::idle);
    return;
  }
  const bool diving = accel < -design_.release_decel_mps2;
  const bool deep = slip > design_.slip_high;
  switch (channel.state) {
    case State::idle:
      if (reference_ < 2.0 * design_.end_speed_mps && !deep) break;
      if (deep)
        enter(channel, State::release);
      else if (diving && slip > 0.3 * design_.slip_low)
        enter(channel, State::hold_first);
      if (channel.state != State::idle) channel.control_s = 0.0;
      break;
    case State::hold_first:
      if (deep || (diving && slip > design_.slip_low))
        enter(channel, State::release);
      else if (channel.in_state_s > 0.06)
        enter(channel, State::rebuild);
      break;
    case State::release:
      if ((accel > design_.recover_accel_mps2 || slip < 0.5 * design_.slip_low) &&
          channel.in_state_s >= design_.loop_s) {
        enter(channel, State::hold_second);
      } else if (channel.in_state_s > design_.release_max_s &&
                 accel > -design_.release_decel_mps2 && slip < design_.slip_high) {
        enter(channel, State::hold_second);
      } else if (channel.outlet_left_s <= 0.0) {
        channel.outlet_gap_s -= dt_s;
        if (channel.outlet_gap_s <= 0.0) {
          channel.outlet_left_s =
              design_.release_gap_s > 0.0 ? design_.release_on_s : design_.release_max_s;
          channel.outlet_gap_s = design_.release_gap_s;
        }
      }
      break;
    case State::hold_second:
      channel.peak_accel = std::max(channel.peak_accel, accel);
      if (deep && accel < 0.0 && channel.in_state_s > 0.03) {
        enter(channel, State::release);
      } else if (accel > design_.high_accel_mps2 && slip < design_.slip_high) {
        enter(channel, State::rebuild);
      } else if (slip < design_.slip_low && accel < design_.recover_accel_mps2) {
        enter(channel, State::rebuild);
      } else if (channel.in_state_s > design_.hold_max_s) {
        enter(channel, deep ? State::release : State::rebuild);
      }
      break;
    case State::rebuild:
      if (deep || (diving && slip > design_.slip_low)) {
        enter(channel, State::release);
      } else if (design_.rebuild == RebuildStyle::stepped && channel.inlet_left_s <= 0.0) {
        channel.step_wait_s -= dt_s;
        if (channel.step_wait_s <= 0.0) {
          channel.inlet_left_s = design_.step_on_s;
          channel.step_wait_s = design_.step_off_s;
          if (++channel.steps > design_.steps_max) enter(channel, State::idle);
        }
      } else if (design_.rebuild == RebuildStyle::coarse && channel.in_state_s > 0.5) {
        enter(channel, State::idle);
      }
      break;
  }
}

void Controller::rear_balance(Channel& channel, double slip_front, double slip, double dt_s) {
  // Rear pressure is held back once the rear wheels slip more than the front ones.
  if (!channel.balance && slip > slip_front + design_.balance_slip && slip > design_.balance_slip)
    channel.balance = true;
  if (channel.balance && slip < slip_front) {
    channel.balance_pulse_s -= dt_s;
    if (channel.balance_pulse_s <= 0.0) {  // a short apply now and then
      channel.inlet_left_s = 0.006;
      channel.balance_pulse_s = 0.12;
    }
  }
}

void Controller::drive_valves(Channel& channel, double dt_s) {
  double inlet = 0.0, outlet = 0.0;
  Cause cause = Cause::none;
  channel.outlet_left_s -= dt_s;
  channel.inlet_left_s -= dt_s;
  switch (channel.state) {
    case State::idle:
      if (channel.balance) {
        inlet = channel.inlet_left_s > 0.0 ? 0.0 : 1.0;
        cause = Cause::rear_balance;
      }
      break;
    case State::hold_first:
    case State::hold_second:
      inlet = 1.0;
      cause = Cause::antilock;
      break;
    case State::release:
      inlet = 1.0;
      outlet = channel.outlet_left_s > 0.0 ? 1.0 : 0.0;
      cause = Cause::antilock;
      break;
    case State::rebuild:
      cause = Cause::antilock;
      if (design_.rebuild == RebuildStyle::stepped)
        inlet = channel.inlet_left_s > 0.0 ? 0.0 : 1.0;
      else if (design_.rebuild == RebuildStyle::partial)
        inlet = 1.0 - design_.partial_opening;
      break;
  }
  for (Corner corner : channel.corners) {
    if (never_[corner]) continue;
    out_.command.inlet[corner] = inlet;
    out_.command.outlet[corner] = outlet;
    out_.cause[corner] = cause;
  }
}

void Controller::loop(const SensorInput& in, double dt_s) {
  const double keep = std::exp(-dt_s / accel_filter_s);
  for (Corner corner : all_corners) {
    const double v = in.wheel_mps[corner];
    if (!primed_) speed_[corner] = v;
    const double raw = (v - speed_[corner]) / dt_s;
    accel_[corner] = keep * accel_[corner] + (1.0 - keep) * raw;
    speed_[corner] = v;
  }
  if (!primed_) reference_ = *std::max_element(speed_.values.begin(), speed_.values.end());
  primed_ = true;
  update_reference(in, dt_s);
  if (off_) return;

  any_antilock_ = false;
  for (Channel& channel : channels_) {
    antilock(channel, in, dt_s);
    any_antilock_ = any_antilock_ || channel.state != State::idle;
  }
  if (any_antilock_) {
    pump_left_s_ = design_.pump_run_on_s;
    antilock_s_ += dt_s;
  } else {
    if (antilock_s_ > 0.0 && !in.pedal && design_.clears_accumulator) clearing_left_s_ = 0.15;
    if (!in.pedal) antilock_s_ = 0.0;
    pump_left_s_ -= dt_s;
  }
  clearing_left_s_ -= dt_s;

  const auto slip_of = [this](Corner corner) {
    return 1.0 - speed_[corner] / std::max(reference_, 0.5);
  };
  const double front = std::max(slip_of(Corner::fl), slip_of(Corner::fr));
  for (Channel& channel : channels_) {
    if (is_front(channel.corners.front()) || !design_.rear_balance) continue;
    if (!in.pedal || reference_ < design_.end_speed_mps) {
      channel.balance = false;
      continue;
    }
    double slip = 0.0;
    for (Corner corner : channel.watched) slip = std::max(slip, slip_of(corner));
    if (channel.state == State::idle) rear_balance(channel, front, slip, dt_s);
  }

  if (!tested_ && design_.self_test_mps > 0.0 && reference_ > design_.self_test_mps && !in.pedal) {
    tested_ = true;
    test_t_ = 0.0;
  }
}

const ControllerOutput& Controller::step(const SensorInput& in, double dt_s) {
  since_loop_s_ += dt_s;
  if (!primed_ || since_loop_s_ >= design_.loop_s - 1e-9) {
    loop(in, since_loop_s_);
    since_loop_s_ = 0.0;
  }
  out_.command.inlet = {};
  out_.command.outlet = {};
  out_.cause = {};
  out_.command.pump = pump_left_s_ > 0.0 && !off_;
  out_.antilock_active = any_antilock_;
  out_.reference_mps = reference_;
  out_.lamp = off_;
  if (off_) return out_;
  for (Channel& channel : channels_) drive_valves(channel, dt_s);

  if (clearing_left_s_ > 0.0) {
    for (Channel& channel : channels_)
      for (Corner corner : channel.corners) {
        out_.command.outlet[corner] = std::fmod(clearing_left_s_, 0.03) > 0.015 ? 1.0 : 0.0;
        out_.cause[corner] = Cause::clearing;
      }
  }
  if (test_t_ >= 0.0) {
    test_t_ += dt_s;
    out_.command.pump = out_.command.pump || test_t_ < test_pump_s;
    for (std::size_t i = 0; i < channels_.size(); ++i) {
      const double local = test_t_ - 0.05 - 0.04 * static_cast<double>(i);
      if (local < 0.0 || local > 2.0 * test_tick_s) continue;
      for (Corner corner : channels_[i].corners) {
        out_.command.inlet[corner] = 1.0;
        out_.command.outlet[corner] = local > test_tick_s ? 1.0 : 0.0;
        out_.cause[corner] = Cause::self_test;
      }
    }
    if (test_t_ > test_pump_s) test_t_ = -1.0;
  }
  return out_;
}

}  // namespace stopledger::model
