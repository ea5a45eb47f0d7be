#include "verify/turning.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// How much faster the right wheel turns than the left one, as a share of the car's speed: middle
/// of the looks at either within [from, to]. Nothing with too few looks.
std::optional<double> side_difference(const PreparedLog& run, Corner left, Corner right,
                                      double from, double to) {
  const auto middle = [&](const WheelView& wheel) -> std::optional<double> {
    std::vector<double> slips;
    if (!wheel.known || wheel.axle_mean) return std::nullopt;
    for (std::size_t i = first_at_or_after(wheel.t_s, from);
         i < wheel.t_s.size() && wheel.t_s[i] <= to; ++i)
      if (!std::isnan(wheel.slip[i])) slips.push_back(wheel.slip[i]);
    if (slips.size() < 3) return std::nullopt;
    return median(std::move(slips));
  };
  const auto l = middle(run.wheels[left]), r = middle(run.wheels[right]);
  if (!l || !r) return std::nullopt;
  return *l - *r;
}

/// Whether every wheel stood at one moment of the braking and every one turned again later: a car
/// that goes round passes through the point where it slides straight sideways. (Where a valve or
/// the pump fails, its wheel does not come up again.)
bool went_round(const PreparedLog& run, double from, double to) {
  std::vector<const WheelView*> wheels;
  for (const Corner corner : all_corners)
    if (run.wheels[corner].known && !run.wheels[corner].axle_mean)
      wheels.push_back(&run.wheels[corner]);
  if (wheels.size() < 4) return false;
  const WheelView& first = *wheels.front();
  for (std::size_t i = first_at_or_after(first.t_s, from);
       i < first.t_s.size() && first.t_s[i] <= to; ++i) {
    const double t = first.t_s[i];
    const bool all_stand = std::all_of(wheels.begin(), wheels.end(), [&](const WheelView* wheel) {
      const std::size_t k = first_at_or_after(wheel->t_s, t);
      return k < wheel->t_s.size() && wheel->v_mps[k] < criteria.round_stand_mps;
    });
    if (!all_stand) continue;
    return std::all_of(wheels.begin(), wheels.end(), [&](const WheelView* wheel) {
      for (std::size_t k = first_at_or_after(wheel->t_s, t);
           k < wheel->t_s.size() && wheel->t_s[k] <= to; ++k)
        if (wheel->v_mps[k] > criteria.judge_floor_mps) return true;
      return false;
    });
  }
  return false;
}

}  // namespace

bool turned(const PreparedLog& run, double brake_from_s, double brake_to_s) {
  if (const Channel* yaw = run.channel(QuantityKind::yaw_rate)) {
    const auto& t = yaw->series.t_s;
    for (std::size_t i = first_at_or_after(t, brake_from_s - criteria.straight_s);
         i < t.size() && t[i] <= brake_to_s; ++i)
      if (std::abs(yaw->series.value[i]) > criteria.slide_rad_s) return true;
    return false;
  }
  if (went_round(run, brake_from_s, brake_to_s)) return true;
  // Half-second windows of the time before, from the braking backwards: one of them with both axles
  // alike is a bend, unless the car has rolled straight since.
  double straight_s = 0.0;
  for (double to = brake_from_s; to > brake_from_s - criteria.bend_before_s + 0.5; to -= 0.25) {
    const auto front = side_difference(run, Corner::fl, Corner::fr, to - 0.5, to);
    const auto rear = side_difference(run, Corner::rl, Corner::rr, to - 0.5, to);
    if (!front || !rear) continue;
    const double less = std::min(std::abs(*front), std::abs(*rear));
    const double more = std::max(std::abs(*front), std::abs(*rear));
    // Whole steps of a coarse speed are no bend.
    double step_mps = 0.0;
    for (const Corner corner : all_corners)
      step_mps = std::max(step_mps, run.wheels[corner].quantum_mps);
    const double coarse = 1.5 * step_mps / std::max(run.v_at(to - 0.25), 1.0);
    // Both axles go round the same bend; a wheel that spins leaves the other axle behind.
    if (*front * *rear > 0.0 && less > std::max(criteria.bend_share, coarse) &&
        more < criteria.bend_alike * less)
      return true;
    straight_s = more < 0.5 * criteria.bend_share ? straight_s + 0.25 : 0.0;
    if (straight_s >= criteria.straight_s) return false;
  }
  return false;
}

}  // namespace stopledger
