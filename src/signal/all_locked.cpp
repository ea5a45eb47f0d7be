#include "signal/all_locked.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "signal/series.h"

namespace stopledger {

namespace {

struct Line {
  double at_end = 0.0, slope = 0.0;
};

/// Line along the upper edge of points [from, to]: points below it lose their say.
Line upper_line(std::span<const double> v, std::size_t from, std::size_t to, double step,
                double below) {
  std::vector<char> used(to - from + 1, 1);
  Line line;
  for (int round = 0; round < 4; ++round) {
    double n = 0, st = 0, sv = 0, stt = 0, stv = 0;
    for (std::size_t i = from; i <= to; ++i) {
      if (!used[i - from]) continue;
      const double t = -step * static_cast<double>(to - i);
      n += 1, st += t, sv += v[i], stt += t * t, stv += t * v[i];
    }
    const double spread = n * stt - st * st;
    if (n < 3 || spread <= 0.0) break;
    line.slope = (n * stv - st * sv) / spread;
    line.at_end = (sv - line.slope * st) / n;
    for (std::size_t i = from; i <= to; ++i)
      used[i - from] =
          v[i] >= line.at_end - line.slope * step * static_cast<double>(to - i) - below * v[i];
  }
  return line;
}

/// Offset and gain that make the accelerometer agree with the wheels before `from`; gain 0 when it
/// does not.
struct AccelFit {
  double offset = 0.0, gain = 0.0;
};

AccelFit fit_accel(std::span<const double> accel, std::span<const double> top, std::size_t begin,
                   std::size_t from, double slope, double step, const AllLockedSettings& settings) {
  AccelFit fit;
  if (accel.empty()) return fit;
  // Offset from rolling: where the fastest wheel neither gains nor loses much over half a second.
  const auto half = std::max<std::size_t>(1, static_cast<std::size_t>(0.25 / step));
  std::vector<double> rest;
  for (std::size_t i = half; i + half < begin; ++i)
    if (!std::isnan(accel[i]) &&
        std::abs(top[i + half] - top[i - half]) < 0.5 * step * 2.0 * static_cast<double>(half))
      rest.push_back(accel[i]);
  if (rest.size() >= 5) fit.offset = median(std::move(rest));
  double sum = 0.0;
  int n = 0;
  for (std::size_t i = begin; i <= from; ++i)
    if (!std::isnan(accel[i])) sum += accel[i] - fit.offset, ++n;
  // Within a third of the wheels' own slope, or it is another axis, sign or unit.
  if (n >= 3 && slope < -1.0) {
    const double gain = slope / (sum / n);
    if (gain > settings.least_gain && gain < settings.most_gain) fit.gain = gain;
  }
  return fit;
}

/// The last point before `j` at which the car was still carried: where the fall that ends at `j`
/// began.
std::size_t fall_begin(std::span<const double> top, std::size_t j, double step, double slope) {
  // The upper support of the curve along that slope, a second back at most.
  const auto reach = static_cast<std::size_t>(1.0 / step);
  std::size_t best = j;
  double highest = top[j];
  for (std::size_t i = j; i-- > 0 && j - i <= reach;) {
    const double height = top[i] - slope * step * static_cast<double>(j - i);
    if (height > highest) {
      highest = height;
      best = i;
    }
  }
  return best;
}

/// The last point before `j` at which a wheel had just come back up; where braking began, if none.
std::size_t last_rise(std::span<const double> top, std::size_t j, double step,
                      const AllLockedSettings& settings) {
  const auto look = std::max<std::size_t>(1, static_cast<std::size_t>(settings.rise_s / step));
  const auto calm = std::max<std::size_t>(look, static_cast<std::size_t>(0.5 / step));
  for (std::size_t i = j; i > look; --i) {
    if (top[i] - top[i - look] > settings.rise_mps) return i;
    if (i > calm && top[i - calm] - top[i] < 0.25 * settings.least_decel_mps2) return i;
  }
  return 0;
}

/// The highest point to which a wheel runs up from `up` within one cycle, faster than a car gains
/// speed: it was let go. Nothing where the wheels rise as slowly as a car that pulls away.
std::optional<std::size_t> ran_up(std::span<const double> top, std::size_t up, double step,
                                  const AllLockedSettings& settings) {
  const std::size_t n = top.size();
  if (up >= n || up == 0) return std::nullopt;
  std::size_t peak = up;
  const auto reach = static_cast<std::size_t>(settings.regain_s / step);
  for (std::size_t k = up; k < std::min(n, up + reach) && top[k] > top[peak] - settings.rise_mps;
       ++k)
    if (top[k] > top[peak]) peak = k;
  const double rise = top[peak] - top[up - 1];
  if (rise < settings.recovered_mps ||
      rise < settings.gain_mps2 * step * static_cast<double>(peak - up + 1))
    return std::nullopt;
  return peak;
}

/// Where a wheel that was let go and ran up to `peak` tells the car's speed again: within one cycle
/// the point to which the line from (`from`, `v0`) falls least. Nothing where that line could not
/// be braking.
std::optional<std::size_t> regained(std::span<const double> top, std::size_t from, double v0,
                                    std::size_t peak, double step,
                                    const AllLockedSettings& settings) {
  const auto reach = static_cast<std::size_t>(settings.regain_s / step);
  const auto slope = [&](std::size_t k) {
    return (top[k] - v0) / (step * static_cast<double>(k - from));
  };
  std::size_t best = peak;
  for (std::size_t k = peak; k < std::min(top.size(), peak + reach) && top[k] > settings.still_mps;
       ++k)
    if (slope(k) > slope(best)) best = k;
  const double decel = -slope(best);
  if (decel < 0.0 || decel > settings.most_decel_mps2) return std::nullopt;
  return best;
}

/// The car's speed on a straight line between two points where wheels carry it.
std::vector<double> straight(double from_mps, double to_mps, std::size_t steps) {
  std::vector<double> v;
  for (std::size_t k = 0; k < steps; ++k)
    v.push_back(from_mps +
                (to_mps - from_mps) * static_cast<double>(k) / static_cast<double>(steps));
  return v;
}

}  // namespace

std::vector<AllLocked> find_all_locked(std::span<const double> top, double step,
                                       std::span<const double> accel,
                                       std::span<const std::size_t> control,
                                       const AllLockedSettings& settings) {
  std::vector<AllLocked> found;
  const std::size_t n = top.size();
  const auto still = static_cast<std::size_t>(std::ceil(settings.still_s / step));
  const auto pause = static_cast<std::size_t>(settings.pause_s / step);
  const auto late = static_cast<std::size_t>(std::ceil(settings.witness_s / step));
  for (std::size_t j = 1; j < n; ++j) {
    if (top[j] > settings.still_mps || top[j - 1] <= settings.still_mps) continue;
    std::size_t up = j;
    while (up < n && top[up] <= settings.still_mps) ++up;
    if (up - j < still) continue;
    // Control that goes on without a pause: later on it is a self-test or another stop.
    std::size_t witness = 0, last = j;
    int witnesses = 0;
    for (const std::size_t k : control) {
      if (k <= j) continue;
      if (k >= up || k > last + pause) break;
      last = k;
      if (k > j + late) witness = k, ++witnesses;
    }
    // The last metres are another matter: there wheels lock, or their sensors fade out.
    std::size_t fast = j;
    while (fast > 0 && top[fast] < settings.fade_mps) --fast;
    std::size_t i = fall_begin(top, fast, step, settings.impossible_mps2);
    // At close looks a fall from above the fading within one of them counts whole; at others the
    // last metres may hide in it.
    const double drop = top[i] - (step <= settings.close_s ? settings.fade_mps : top[fast]);
    const double span = step * static_cast<double>(j - i);
    const bool steep =
        drop >= settings.least_drop_mps && top[i] - top[j] > settings.impossible_mps2 * span;
    AllLocked stretch;
    if (top[j - 1] > settings.fade_mps && top[j - 1] - top[j] > settings.signal_mps2 * step) {
      stretch.from = j - 1;
      stretch.to = std::min(up, n - 1);
      stretch.signal = true;
      found.push_back(std::move(stretch));
      j = up;
      continue;
    }
    if (!steep && witnesses < 2) continue;
    if (!steep) i = std::min(i, last_rise(top, j, step, settings));
    stretch.from = i;
    // The car's slope before: only as far back as it was braked.
    const auto reach = static_cast<std::size_t>(settings.fit_s / step);
    std::size_t begin = i > reach ? i - reach : 0;
    Line line = upper_line(top, begin, i, step, settings.below_line);
    // A stretch that bends held rolling too: the line then misses its first or its last point.
    while (i - begin > 4) {
      const double first = line.at_end - line.slope * step * static_cast<double>(i - begin);
      if (first - top[begin] <= settings.off_line * top[begin] &&
          line.at_end - top[i] <= settings.off_line * top[i])
        break;
      begin += std::max<std::size_t>(1, (i - begin) / 4);
      line = upper_line(top, begin, i, step, settings.below_line);
    }
    double v = std::max(line.at_end, top[i]);
    const auto peak = ran_up(top, up, step, settings);
    if (const auto again = peak ? regained(top, i, v, *peak, step, settings) : std::nullopt) {
      stretch.to = *again;
      stretch.measured = true;
      stretch.v_mps = straight(v, top[*again], *again - i);
      j = std::max(j, *again);
      found.push_back(std::move(stretch));
      continue;
    }
    double decel = std::clamp(-line.slope, settings.least_decel_mps2, settings.most_decel_mps2);
    if (witnesses >= 2)
      decel = std::clamp((v - settings.witness_mps) / (step * static_cast<double>(witness - i)),
                         settings.least_decel_mps2, steep ? decel : settings.most_decel_mps2);
    // Wheels that gather speed as a car does: it had come to rest before.
    if (up < n && !peak) decel = std::max(decel, v / (step * static_cast<double>(up - i)));
    const AccelFit fit = fit_accel(accel, top, begin, i, line.slope, step, settings);
    stretch.measured = fit.gain > 0.0;
    std::size_t k = i, calm = 0;
    for (; k < n && v > 0.0; ++k) {
      if (k > j && top[k] > v) break;  // a wheel carries the car again
      stretch.v_mps.push_back(v);
      double a = -decel;
      if (stretch.measured && !std::isnan(accel[k]))
        a = std::min(fit.gain * (accel[k] - fit.offset), 0.0);
      calm = a > -settings.rest_share * decel ? calm + 1 : 0;
      if (calm > still) break;  // the accelerometer is at rest: so is the car
      v += a * step;
    }
    stretch.to = std::min(k, n - 1);
    if (k < n && v > 0.0) {
      // Bend the line so that it meets the wheel, or standstill.
      const double off = top[k] - v;
      for (std::size_t m = 0; m < stretch.v_mps.size(); ++m)
        stretch.v_mps[m] +=
            off * static_cast<double>(m) / static_cast<double>(stretch.v_mps.size());
    }
    j = std::max(j, stretch.to);
    found.push_back(std::move(stretch));
  }
  return found;
}

}  // namespace stopledger
