#include "model/controller.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace stopledger::model {
namespace {

constexpr double accel_filter_s = 0.012;  // wheel acceleration from differenced, smoothed speed
constexpr double test_pump_s = 0.5;       // drive-off self-test: pump blip and valve ticks
constexpr double test_tick_s = 0.008;
constexpr double silent_limit_s = 0.6;  // a wheel at 0 while the others roll: sensor lost
constexpr double silent_above_mps = 4.0;
constexpr double supply_limit_v = 9.5;  // below this the control gives up
constexpr double supply_limit_s = 0.05;
constexpr double store_cut_in_kpa = 14e3, store_cut_out_kpa = 18e3;  // trade reference 1.8

}  // namespace

Controller::Controller(const Case& c) : design_(c.controller), unit_(c.unit), active_(c) {
  for (const Fault& fault : acting_faults(c)) {
    if (fault.degree <= 0.0) continue;
    if (fault.kind == FaultKind::control_off) switched_off_ = true;
    if (fault.kind == FaultKind::never_commanded) never_[fault.corner] = true;
  }
  // A drive already under way has had its self-test.
  tested_ = design_.self_test_mps < c.manoeuvre.start_mps;
  const auto add = [this](std::vector<Corner> corners, std::vector<Corner> watched) {
    channels_.emplace_back(design_, std::move(corners), std::move(watched));
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

/// Gives up when its own inputs cannot be trusted: plain braking, lamp on.
void Controller::watch(const SensorInput& in, double dt_s) {
  const double fastest = *std::max_element(in.wheel_mps.values.begin(), in.wheel_mps.values.end());
  for (Corner corner : all_corners) {
    // Under the pedal a wheel at rest may be locked; only free rolling tells.
    const bool silent = in.wheel_mps[corner] <= 0.0 && fastest > silent_above_mps;
    if (!in.motion.pedal) silent_s_[corner] = silent ? silent_s_[corner] + dt_s : 0.0;
    if (silent_s_[corner] > silent_limit_s) wheels_.lost[corner] = true;
  }
  low_supply_s_ = in.supply_v < supply_limit_v ? low_supply_s_ + dt_s : 0.0;
  const auto& lost = wheels_.lost.values;
  if (low_supply_s_ > supply_limit_s || std::any_of(lost.begin(), lost.end(), std::identity{}))
    off_ = true;
}

void Controller::loop(const SensorInput& in, double dt_s) {
  const double keep = std::exp(-dt_s / accel_filter_s);
  for (Corner corner : all_corners) {
    const double v = in.wheel_mps[corner];
    if (!primed_) wheels_.speed_mps[corner] = v;
    const double raw = (v - wheels_.speed_mps[corner]) / dt_s;
    wheels_.accel_mps2[corner] = keep * wheels_.accel_mps2[corner] + (1.0 - keep) * raw;
    wheels_.speed_mps[corner] = v;
  }
  if (!primed_) reference_.start(wheels_.fastest());
  primed_ = true;
  const bool pedal = in.motion.pedal;
  reference_.update(wheels_, pedal, antilock_, in.t_s, dt_s);
  if (unit_.kind == UnitKind::high_pressure_store) {
    if (in.store_kpa < store_cut_in_kpa) charging_ = true;
    if (in.store_kpa > store_cut_out_kpa) charging_ = false;
  }
  watch(in, dt_s);
  if (off_ || switched_off_) return;

  const double reference = reference_.mps();
  antilock_ = false;
  for (AntilockChannel& channel : channels_) {
    channel.loop(wheels_, reference, pedal, dt_s);
    antilock_ = antilock_ || channel.active();
  }
  if (design_.split_yaw_delay_s > 0.0 && channels_.size() >= 3) {
    // One front wheel on slippery ground: the other one builds up in slow steps.
    if (channels_[0].releasing() && !channels_[1].releasing())
      channels_[1].delay_build(design_.split_yaw_delay_s);
    if (channels_[1].releasing() && !channels_[0].releasing())
      channels_[0].delay_build(design_.split_yaw_delay_s);
  }
  for (const AntilockChannel& channel : channels_) pumping_ = pumping_ || channel.releasing();
  pumping_ = pumping_ && antilock_;  // from the first release to the end of control, and a little
  if (pumping_) pump_left_s_ = design_.pump_run_on_s;
  was_antilock_ = was_antilock_ || antilock_;
  pump_left_s_ -= dt_s;
  clearing_left_s_ -= dt_s;
  if (!pedal && was_antilock_) {
    was_antilock_ = false;
    if (design_.clears_accumulator) clearing_left_s_ = 0.15;
  }

  const double front =
      std::max(wheels_.slip(Corner::fl, reference), wheels_.slip(Corner::fr, reference));
  if (design_.rear_balance && unit_.channels != 2)
    for (AntilockChannel& channel : channels_)
      if (!is_front(channel.corners().front()))
        channel.balance(wheels_, reference, pedal, front, dt_s);

  active_.stability(wheels_, reference, in.motion, dt_s);
  active_.traction(wheels_, reference, in.motion, dt_s);

  if (!tested_ && design_.self_test_mps > 0.0 && reference > design_.self_test_mps && !pedal) {
    tested_ = true;
    test_s_ = 0.0;
  }
}

void Controller::self_test(double dt_s) {
  test_s_ += dt_s;
  out_.valves.unit.pump = out_.valves.unit.pump || test_s_ < test_pump_s;
  for (std::size_t i = 0; i < channels_.size(); ++i) {
    const double local = test_s_ - 0.05 - 0.04 * static_cast<double>(i);
    if (local < 0.0 || local > 2.0 * test_tick_s) continue;
    for (Corner corner : channels_[i].corners()) {
      out_.valves.unit.inlet[corner] = 1.0;
      out_.valves.unit.outlet[corner] = local > test_tick_s ? 1.0 : 0.0;
      out_.valves.cause[corner] = Cause::self_test;
    }
  }
  if (test_s_ > test_pump_s) test_s_ = -1.0;
}

const ControllerOutput& Controller::step(const SensorInput& in, double dt_s) {
  since_loop_s_ += dt_s;
  if (!primed_ || since_loop_s_ >= design_.loop_s - 1e-9) {
    loop(in, since_loop_s_);
    since_loop_s_ = 0.0;
  }
  out_.valves = {};
  out_.reference_mps = reference_.mps();
  out_.lamp = off_ || switched_off_;
  out_.torque_factor = 1.0;
  out_.antilock_active = out_.stability_active = out_.traction_active = false;
  UnitCommand& unit = out_.valves.unit;
  if (unit_.kind == UnitKind::high_pressure_store) unit.pump = charging_;
  if (out_.lamp) return out_;

  for (AntilockChannel& channel : channels_) channel.drive(out_.valves, never_, dt_s);
  active_.drive(out_.valves, never_, dt_s);
  if (unit_.kind != UnitKind::high_pressure_store && unit_.kind != UnitKind::motor_piston)
    unit.pump = pump_left_s_ > 0.0 || active_.pump();
  out_.torque_factor = active_.torque_factor();
  out_.antilock_active = antilock_;
  out_.stability_active = active_.stability_active();
  out_.traction_active = active_.traction_active();
  if (clearing_left_s_ > 0.0)
    for (AntilockChannel& channel : channels_)
      for (Corner corner : channel.corners()) {
        unit.outlet[corner] = std::fmod(clearing_left_s_, 0.03) > 0.015 ? 1.0 : 0.0;
        out_.valves.cause[corner] = Cause::clearing;
      }
  if (test_s_ >= 0.0) self_test(dt_s);
  return out_;
}

}  // namespace stopledger::model
