#include "verify/stop_measure.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/quantity.h"
#include "signal/series.h"
#include "signal/stopping.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// When the brake switch closed, if that was seen within half a second of the slowing.
std::optional<double> pedal_down(const PreparedLog& run, double slowing_s) {
  const Channel* pedal = run.channel(QuantityKind::brake_switch);
  if (!pedal) return std::nullopt;
  for (const OnRun& on : on_runs(pedal->series, criteria.on_duty)) {
    const double down_s = 0.5 * (on.off_before_s + on.first_on_s);
    if (on.first_on_s - on.off_before_s < 0.12 && std::abs(down_s - slowing_s) < 0.5) return down_s;
  }
  return std::nullopt;
}

/// How long two wheels or more were locked above the speed where that is tolerated.
double two_locked_s(const PreparedLog& run, const ReferenceSpeed& part, std::size_t from,
                    std::size_t to) {
  std::vector<int> locked(to - from + 1, 0);
  for (const WheelView& wheel : run.wheels.values) {
    std::size_t k =
        first_at_or_after(wheel.t_s, part.start_s + part.step_s * static_cast<double>(from));
    for (std::size_t i = from; i <= to && k < wheel.t_s.size(); ++i) {
      const double t = part.start_s + part.step_s * static_cast<double>(i);
      while (k + 1 < wheel.t_s.size() && wheel.t_s[k + 1] <= t) ++k;
      if (wheel.t_s[k] <= t && wheel.slip[k] > criteria.lock_slip) ++locked[i - from];
    }
  }
  double sum_s = 0.0;
  for (std::size_t i = from; i <= to; ++i)
    if (locked[i - from] >= 2 && part.v_mps[i] > criteria.lock_floor_mps) sum_s += part.step_s;
  return sum_s;
}

}  // namespace

void measure_braking(const PreparedLog& run, const ReferenceSpeed& part, std::size_t from,
                     std::size_t to, bool controlled, Stretch& stretch) {
  Episode& episode = stretch.episode;
  std::size_t apart = 0;
  for (std::size_t i = from; i <= to; ++i) apart += part.spread[i] ? 1 : 0;
  const double stiffness = 4 * apart > to - from || controlled ? criteria.edge_stiffness_control
                                                               : criteria.edge_stiffness_rolling;
  const auto pedal = pedal_down(run, episode.start_s);
  const std::size_t first = pedal && part.index(*pedal) + 1 < to ? part.index(*pedal) : from;
  std::vector<double> t, v;
  for (std::size_t i = first; i <= to; ++i) {
    const double slip =
        std::clamp(-part.a_mps2[i] / (gravity_mps2 * stiffness), 0.0, criteria.edge_slip_most);
    t.push_back(part.start_s + part.step_s * static_cast<double>(i));
    v.push_back(part.v_mps[i] / (1.0 - slip));
    episode.carried_s += part.carried[i] && part.v_mps[i] > 0.0 ? part.step_s : 0.0;
  }
  const StopMeasure measure = measure_stop(t, v);
  if (!stretch.start_cut && !stretch.end_cut) episode.distance_m = measure.distance.value();
  if (!stretch.start_cut && measure.mfdd && measure.mfdd->value() < criteria.impossible_mps2)
    episode.mfdd_mps2 = measure.mfdd->value();
  episode.two_locked_s = two_locked_s(run, part, from, to);
  episode.estimated =
      episode.carried_s > criteria.carried_s || episode.two_locked_s > criteria.lock_tolerated_s;
  // Most of it guessed is no measure.
  if (episode.carried_s > criteria.carried_share * (episode.end_s - episode.start_s))
    episode.distance_m = episode.mfdd_mps2 = std::nullopt;
}

}  // namespace stopledger
