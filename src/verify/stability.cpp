#include "verify/stability.h"

#include <algorithm>
#include <cmath>

#include "base/quantity.h"
#include "signal/series.h"
#include "signal/yaw_decay.h"
#include "verify/active_braking.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// What the steering asks of a car, look by look: its bicycle model and the lag it answers with.
class Wish {
 public:
  explicit Wish(const CarFacts& car)
      : wheelbase_m_(car.wheelbase_m.value_or(criteria.usual_wheelbase_m)),
        ratio_(car.steering_ratio.value_or(criteria.usual_steering_ratio)),
        gradient_rad_(car.understeer_gradient_rad.value_or(criteria.usual_gradient_rad)) {}

  /// The yaw rate asked for at `t` (rad/s), times rising from call to call.
  /// `grip_mps2`: what the ground can give to the side.
  double at(double t_s, double v_mps, double steering_rad, double grip_mps2) {
    const double limit = grip_mps2 / v_mps;
    const double steady = std::clamp(
        bicycle_yaw_rate(v_mps, steering_rad / ratio_, wheelbase_m_, gradient_rad_), -limit, limit);
    const double lag_s = v_mps / (criteria.side_stiffness * gravity_mps2);
    if (!started_ || t_s - before_s_ > 1.0)
      lagged_ = steady;
    else
      lagged_ += (steady - lagged_) * (1.0 - std::exp(-(t_s - before_s_) / lag_s));
    started_ = true;
    before_s_ = t_s;
    return lagged_;
  }

 private:
  double wheelbase_m_, ratio_, gradient_rad_;
  double lagged_ = 0.0, before_s_ = 0.0;
  bool started_ = false;
};

/// What the ground can give to the side about `t`, by what it gave; the best there is where lateral
/// acceleration is not logged.
double grip_about(const Channel* lateral, double t) {
  const double best = criteria.yaw_limit_g * gravity_mps2;
  if (!lateral) return best;
  const Series& series = lateral->series;
  double most = 0.0;
  for (std::size_t i = first_at_or_after(series.t_s, t - criteria.grip_about_s);
       i < series.size() && series.t_s[i] <= t + criteria.grip_about_s; ++i)
    most = std::max(most, std::abs(series.value[i]));
  return std::min(best, criteria.grip_margin * most + criteria.grip_least_mps2);
}

/// How far the car turned otherwise than asked while the unit was at work: rad beyond the tolerated
/// error, summed over time, by the side of the turn.
struct Deviation {
  double over_left = 0.0, over_right = 0.0;
  double under_left = 0.0, under_right = 0.0;
};

Deviation deviation(const PreparedLog& run, const CarFacts& car, const Series& yaw,
                    const Series& steering, const std::vector<TimeSpan>& spans) {
  Deviation sum;
  Wish wish(car);
  double before_s = 0.0;
  const double from_s = spans.front().from_s, to_s = spans.back().to_s;
  for (std::size_t i = first_at_or_after(yaw.t_s, from_s - criteria.wish_before_s);
       i < yaw.size() && yaw.t_s[i] <= to_s; ++i) {
    const double t = yaw.t_s[i], v = run.v_at(t), measured = yaw.value[i];
    const auto angle = linear_at(steering.t_s, steering.value, t, 0.5);
    if (std::isnan(v) || v < criteria.judge_floor_mps || !angle) continue;
    const double asked = wish.at(t, v, *angle, grip_about(run.channel(QuantityKind::accel_lat), t));
    const double step_s = std::clamp(t - before_s, 0.0, 0.3);
    before_s = t;
    if (std::none_of(spans.begin(), spans.end(), [&](const TimeSpan& span) {
          return t >= span.from_s - criteria.cause_before_s && t <= span.to_s;
        }))
      continue;
    const double turn = measured >= 0.0 ? 1.0 : -1.0, wanted = asked >= 0.0 ? 1.0 : -1.0;
    const double over = (measured - asked) * turn - criteria.yaw_error_rad_s;
    const double under = (asked - measured) * wanted - criteria.yaw_error_rad_s;
    if (over > 0.0)
      (turn > 0.0 ? sum.over_left : sum.over_right) += over * step_s;
    else if (under > 0.0)
      (wanted > 0.0 ? sum.under_left : sum.under_right) += under * step_s;
  }
  return sum;
}

/// The greater part gives the tendency; a wheel is expected for every part that is not small.
void name_tendency(const Deviation& sum, StabilityOutcome& outcome) {
  const double over = sum.over_left + sum.over_right, under = sum.under_left + sum.under_right;
  if (std::max(over, under) < criteria.yaw_least_rad) return;
  outcome.tendency = over >= under ? Tendency::oversteer : Tendency::understeer;
  const double least = std::max(criteria.yaw_least_rad, criteria.phase_share * (over + under));
  const auto expect = [&](double part, Corner corner) {
    if (part >= least) outcome.expected.push_back(corner);
  };
  expect(sum.over_right, Corner::fl);
  expect(sum.over_left, Corner::fr);
  expect(sum.under_left, Corner::rl);
  expect(sum.under_right, Corner::rr);
}

/// The samples of a series within [from, to].
std::pair<std::span<const double>, std::span<const double>> part_of(const Series& series,
                                                                    double from, double to) {
  const std::size_t first = first_at_or_after(series.t_s, from);
  const std::size_t last = first_at_or_after(series.t_s, to);
  return {std::span(series.t_s).subspan(first, last - first),
          std::span(series.value).subspan(first, last - first)};
}

}  // namespace

double bicycle_yaw_rate(double v_mps, double road_wheel_rad, double wheelbase_m,
                        double understeer_gradient_rad) {
  return v_mps * road_wheel_rad /
         (wheelbase_m + understeer_gradient_rad * v_mps * v_mps / gravity_mps2);
}

StabilityOutcome judge_stability(const PreparedLog& run, const PerCorner<Commands>& commands,
                                 const CarFacts& car, const Episode& episode) {
  StabilityOutcome outcome;
  const double start = episode.start_s - 0.1, end = episode.end_s + 0.1;
  outcome.braked = braked_by_unit(run, commands, car.split, start, end);
  const Channel* yaw = run.channel(QuantityKind::yaw_rate);
  const Channel* steering = run.channel(QuantityKind::steering_angle);
  if (!yaw || !steering) return outcome;
  std::vector<TimeSpan> spans = active_spans(run, commands, start, end);
  if (spans.empty()) spans.push_back({start, end});
  name_tendency(deviation(run, car, yaw->series, steering->series, spans), outcome);
  const double from = start - criteria.steer_before_s, to = end + criteria.steer_after_s;
  const auto [yaw_t, yaw_rate] = part_of(yaw->series, from, to);
  const auto [steer_t, angle] = part_of(steering->series, from, to);
  if (const auto decay = yaw_decay(yaw_t, yaw_rate, steer_t, angle)) {
    outcome.yaw_left_1s = decay->share_1s;
    outcome.yaw_left_1_75s = decay->share_1_75s;
  }
  return outcome;
}

}  // namespace stopledger
