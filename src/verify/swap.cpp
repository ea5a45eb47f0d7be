#include "verify/swap.h"

#include <cmath>

#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// How far the wheel's slip just before the releases stands above its usual slip, and how sure.
struct Link {
  int n = 0;
  double lift = 0.0, error = 1.0;
};

Link link(const std::vector<double>& releases, const WheelView& wheel, const Stretch& stretch) {
  Link result;
  std::vector<double> usual, before;
  for (std::size_t i = first_at_or_after(wheel.t_s, stretch.judged_from_s); i < wheel.t_s.size();
       ++i) {
    if (wheel.t_s[i] > stretch.judged_to_s) break;
    if (!std::isnan(wheel.slip[i])) usual.push_back(wheel.slip[i]);
  }
  for (const double t : releases) {
    if (t > stretch.judged_to_s) continue;
    double deepest = -1.0;
    for (std::size_t i = first_at_or_after(wheel.t_s, t - 0.05); i < wheel.t_s.size(); ++i) {
      if (wheel.t_s[i] > t + 0.06) break;
      if (!std::isnan(wheel.slip[i])) deepest = std::max(deepest, wheel.slip[i]);
    }
    if (deepest > -1.0) before.push_back(deepest);
  }
  if (usual.size() < 10 || before.size() < 3) return result;
  result.n = static_cast<int>(before.size());
  double mean = 0.0, square = 0.0;
  for (const double slip : before) mean += slip;
  mean /= static_cast<double>(before.size());
  for (const double slip : before) square += (slip - mean) * (slip - mean);
  result.lift = mean - median(usual);
  result.error = std::sqrt(square / static_cast<double>(before.size() - 1) /
                           static_cast<double>(before.size())) +
                 0.004;
  return result;
}

}  // namespace

void mark_swapped(const PreparedLog& run, const PerCorner<Commands>& commands,
                  std::vector<JudgedStretch>& stretches) {
  for (JudgedStretch& judged : stretches) {
    if (!judged.stretch.braking) continue;
    for (std::size_t i = 0; i < all_corners.size(); ++i)
      for (std::size_t j = i + 1; j < all_corners.size(); ++j) {
        const Corner a = all_corners[i], b = all_corners[j];
        if (commands[a].axle_pair || commands[b].axle_pair) continue;
        const WheelView &wheel_a = run.wheels[a], &wheel_b = run.wheels[b];
        if (!wheel_a.known || !wheel_b.known || wheel_a.axle_mean || wheel_b.axle_mean ||
            wheel_a.rate_hz < criteria.fast_wheel_hz || wheel_b.rate_hz < criteria.fast_wheel_hz)
          continue;
        const auto& releases_a = judged.corners[a].release_times;
        const auto& releases_b = judged.corners[b].release_times;
        const Link aa = link(releases_a, wheel_a, judged.stretch),
                   ab = link(releases_a, wheel_b, judged.stretch),
                   ba = link(releases_b, wheel_a, judged.stretch),
                   bb = link(releases_b, wheel_b, judged.stretch);
        if (aa.n < 3 || ab.n < 3 || ba.n < 3 || bb.n < 3) continue;
        const auto crossed = [](const Link& other, const Link& own) {
          return other.lift - own.lift > 3.0 * (other.error + own.error) && other.lift > 0.05 &&
                 own.lift < 0.6 * other.lift;
        };
        if (crossed(ab, aa) && crossed(ba, bb)) {
          judged.corners[a].swapped = true;
          judged.corners[b].swapped = true;
        }
      }
  }
}

}  // namespace stopledger
