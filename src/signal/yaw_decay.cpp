#include "signal/yaw_decay.h"

#include <algorithm>
#include <cmath>

#include "signal/series.h"

namespace stopledger {

namespace {

/// The last steering to one side: its first look beyond straight, and the first look after it that
/// is straight again.
struct LastSteer {
  std::size_t from = 0, back = 0;
  double side = 1.0;
};

std::optional<LastSteer> last_steer(std::span<const double> steer_rad,
                                    const YawDecaySettings& settings) {
  std::optional<LastSteer> last;
  for (std::size_t i = 0; i < steer_rad.size();) {
    if (std::abs(steer_rad[i]) <= settings.straight_rad) {
      ++i;
      continue;
    }
    const double side = steer_rad[i] > 0.0 ? 1.0 : -1.0;
    std::size_t k = i;
    double most = 0.0;
    for (; k < steer_rad.size() && side * steer_rad[k] > settings.straight_rad; ++k)
      most = std::max(most, side * steer_rad[k]);
    if (most >= settings.least_steer_rad) {
      if (k == steer_rad.size()) return std::nullopt;  // never came back
      last = LastSteer{i, k, side};
    }
    i = k;
  }
  return last;
}

/// When the steering passed into the straight band, on the line between two looks.
double came_back_s(std::span<const double> t, std::span<const double> steer, const LastSteer& last,
                   double straight) {
  const double before = last.side * steer[last.back - 1], after = last.side * steer[last.back];
  const double share = std::clamp((before - straight) / (before - after), 0.0, 1.0);
  return t[last.back - 1] + share * (t[last.back] - t[last.back - 1]);
}

/// The first peak on one side within [from, to): it counts once the yaw rate has fallen from it.
double first_peak(std::span<const double> t, std::span<const double> yaw, double from, double to,
                  double side, const YawDecaySettings& settings) {
  double peak = 0.0;
  for (std::size_t i = first_at_or_after(t, from); i < t.size() && t[i] < to; ++i) {
    const double here = side * yaw[i];
    if (here < peak - std::max(settings.fall_share * peak, settings.fall_rad_s)) break;
    peak = std::max(peak, here);
  }
  return side * peak;
}

}  // namespace

std::optional<YawDecay> yaw_decay(std::span<const double> yaw_t_s,
                                  std::span<const double> yaw_rad_s,
                                  std::span<const double> steer_t_s,
                                  std::span<const double> steer_rad,
                                  const YawDecaySettings& settings) {
  const auto last = last_steer(steer_rad, settings);
  if (!last || last->back == 0) return std::nullopt;
  YawDecay decay;
  decay.steer_end_s = came_back_s(steer_t_s, steer_rad, *last, settings.straight_rad);
  decay.peak_rad_s = first_peak(yaw_t_s, yaw_rad_s, steer_t_s[last->from], decay.steer_end_s + 1.0,
                                last->side, settings);
  if (std::abs(decay.peak_rad_s) < settings.least_peak_rad_s) return std::nullopt;
  const auto share_after = [&](double delay_s) -> std::optional<double> {
    const double at_s = decay.steer_end_s + delay_s;
    for (std::size_t i = last->back; i < steer_t_s.size() && steer_t_s[i] <= at_s; ++i)
      if (std::abs(steer_rad[i]) > 2.0 * settings.straight_rad) return std::nullopt;
    const auto yaw = linear_at(yaw_t_s, yaw_rad_s, at_s, settings.max_gap_s);
    if (!yaw) return std::nullopt;
    return *yaw / decay.peak_rad_s;
  };
  decay.share_1s = share_after(1.0);
  decay.share_1_75s = share_after(1.75);
  return decay;
}

}  // namespace stopledger
