#include "verify/traction.h"

#include <algorithm>
#include <cmath>

#include "base/quantity.h"
#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

std::vector<double> values_between(const Channel* channel, double from, double to) {
  std::vector<double> values;
  if (!channel) return values;
  const auto& t = channel->series.t_s;
  for (std::size_t i = first_at_or_after(t, from); i < t.size() && t[i] <= to; ++i)
    values.push_back(channel->series.value[i]);
  return values;
}

void judge_traction(const PreparedLog& run, const PerCorner<Commands>& commands, Stretch& stretch) {
  TractionOutcome outcome;
  const double start = stretch.episode.start_s, end = stretch.episode.end_s;
  const auto before = values_between(run.channel(QuantityKind::throttle), start - 0.7, start + 0.1);
  const auto throttle = values_between(run.channel(QuantityKind::throttle), start, end + 0.3);
  const auto pedal = values_between(run.channel(QuantityKind::accelerator), start, end);
  const auto timing_before =
      values_between(run.channel(QuantityKind::ignition_timing), start - 0.7, start + 0.1);
  const auto timing = values_between(run.channel(QuantityKind::ignition_timing), start, end + 0.3);
  if (!pedal.empty()) outcome.pedal_pct = 100.0 * quantile(pedal, 0.9);
  if (throttle.size() >= 2) outcome.throttle_floor_pct = 100.0 * quantile(throttle, 0.05);
  // The pedal is held when its low end stays near its high end (chosen: three quarters).
  const bool pedal_held = !pedal.empty() && quantile(pedal, 0.2) > 0.75 * quantile(pedal, 0.9) &&
                          quantile(pedal, 0.9) > 0.1;
  std::optional<bool> cut;
  if (throttle.size() >= 3 && pedal_held) {
    const double opened = before.empty() ? quantile(throttle, 0.9)
                                         : std::max(quantile(before, 0.9), quantile(throttle, 0.9));
    cut = quantile(throttle, 0.05) < 0.7 * opened;
  }
  if (timing.size() >= 3 && timing_before.size() >= 2 && (pedal_held || pedal.empty()))
    // 6 degrees: more than load correction does within a second (chosen).
    cut = cut.value_or(false) || quantile(timing, 0.05) < median(timing_before) - 0.105;
  if (cut == false) {
    // Braking the spinning wheel is an answer too.
    for (const Corner corner : all_corners)
      for (const OnRun& closing : commands[corner].closings)
        if (closing.first_on_s < end && closing.last_on_s > start) {
          outcome.torque_cut = std::nullopt;
          stretch.episode.traction = outcome;
          return;
        }
  }
  outcome.torque_cut = cut;
  stretch.episode.traction = outcome;
}

void judge_stability(const PreparedLog& run, const PerCorner<Commands>& commands,
                     const CarFacts& car, Stretch& stretch) {
  StabilityOutcome outcome;
  const double start = stretch.episode.start_s, end = stretch.episode.end_s;
  const Channel* yaw = run.channel(QuantityKind::yaw_rate);
  const Channel* steering = run.channel(QuantityKind::steering_angle);
  if (yaw && steering) {
    // A usual car where the sheet is silent: 2.6 m, 16 to 1, K 0.03 rad/g (chosen, mid-size).
    const double wheelbase = car.wheelbase_m.value_or(2.6),
                 ratio = car.steering_ratio.value_or(16.0),
                 gradient = car.understeer_gradient_rad.value_or(0.03);
    double excess = 0.0, lack = 0.0, turn = 0.0;
    for (std::size_t i = first_at_or_after(yaw->series.t_s, start - 0.2);
         i < yaw->series.size() && yaw->series.t_s[i] <= end; ++i) {
      const double t = yaw->series.t_s[i], v = run.v_at(t);
      const auto angle = linear_at(steering->series.t_s, steering->series.value, t, 0.5);
      if (std::isnan(v) || v < 3.0 || !angle) continue;
      const double measured = yaw->series.value[i];
      double asked = bicycle_yaw_rate(v, *angle / ratio, wheelbase, gradient);
      const double limit = 0.85 * gravity_mps2 / v;  // VD-06 on the best surface
      asked = std::clamp(asked, -limit, limit);
      const double over = std::abs(measured) - std::abs(asked);
      if (measured * asked < 0.0 && std::abs(measured) > 0.1)
        excess = std::max(excess, std::abs(measured - asked));
      else if (over > excess)
        excess = over;
      lack = std::max(lack, -over);
      if (std::abs(measured) > std::abs(turn)) turn = measured;
    }
    // 4 deg/s: sensor offset and bicycle-model error together (chosen).
    const double least = 0.07;
    if (excess > least && excess >= lack)
      outcome.tendency = Tendency::oversteer;
    else if (lack > least)
      outcome.tendency = Tendency::understeer;
    const bool left_turn = turn > 0.0;
    if (outcome.tendency == Tendency::oversteer)
      outcome.expected = {left_turn ? Corner::fr : Corner::fl};
    else if (outcome.tendency == Tendency::understeer)
      outcome.expected = {left_turn ? Corner::rl : Corner::rr};
  }
  // Braked: worked, but not kept vented (inlet and outlet both on nearly all the while).
  for (const Corner corner : all_corners) {
    double closed = 0.0, vented = 0.0;
    int pulses = 0;
    for (const OnRun& closing : commands[corner].closings)
      if (closing.first_on_s <= end + 0.1 && closing.last_on_s >= start - 0.1) {
        closed += closing.last_on_s - closing.first_on_s;
        ++pulses;
      }
    for (const Release& release : commands[corner].releases)
      if (release.start_s <= end && release.end_s >= start) vented += release.outlet_on_s;
    if (pulses > 0 && vented < 0.6 * closed && closed < 0.85 * (end - start))
      outcome.braked.push_back(corner);
  }
  stretch.episode.stability = outcome;
}

}  // namespace

double bicycle_yaw_rate(double v_mps, double road_wheel_rad, double wheelbase_m,
                        double understeer_gradient_rad) {
  return v_mps * road_wheel_rad /
         (wheelbase_m + understeer_gradient_rad * v_mps * v_mps / gravity_mps2);
}

void judge_control_episode(const PreparedLog& run, const PerCorner<Commands>& commands,
                           const CarFacts& car, Stretch& stretch) {
  if (stretch.episode.kind == EpisodeKind::traction)
    judge_traction(run, commands, stretch);
  else if (stretch.episode.kind == EpisodeKind::stability)
    judge_stability(run, commands, car, stretch);
}

}  // namespace stopledger
