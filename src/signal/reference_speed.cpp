#include "signal/reference_speed.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "signal/all_locked.h"
#include "signal/series.h"
#include "signal/smooth.h"

namespace stopledger {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

double median_step(const std::vector<double>& t, double start, double end) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < t.size(); ++i)
    if (t[i - 1] >= start && t[i] <= end && t[i] > t[i - 1]) steps.push_back(t[i] - t[i - 1]);
  return median(std::move(steps));
}

/// All traces on one even grid; NaN where the samples around lie too far apart.
struct Grid {
  double start = 0.0, step = 0.05;
  std::size_t n = 0;
  std::vector<std::vector<double>> v;

  [[nodiscard]] double time(std::size_t i) const { return start + step * static_cast<double>(i); }
};

Grid make_grid(std::span<const WheelTrace> wheels, double start, double end, double low,
               double high) {
  double finest = high * 2.0;
  std::vector<double> steps;
  for (const WheelTrace& wheel : wheels) {
    const double step = median_step(wheel.t_s, start, end);
    steps.push_back(step);
    if (step > 0.0) finest = std::min(finest, step);
  }
  Grid grid;
  grid.start = start;
  grid.step = std::clamp(finest, low, high);
  // An hour at the finest grid would be pointless memory: cap the number of points.
  grid.step = std::max(grid.step, (end - start) / 600000.0);
  grid.n = static_cast<std::size_t>((end - start) / grid.step) + 1;
  for (std::size_t k = 0; k < wheels.size(); ++k) {
    const double gap = std::max(0.3, 3.5 * (steps[k] > 0.0 ? steps[k] : 1.0));
    std::vector<double> line(grid.n, nan);
    std::size_t after = first_at_or_after(wheels[k].t_s, start);
    const auto& t = wheels[k].t_s;
    const auto& v = wheels[k].v_mps;
    for (std::size_t i = 0; i < grid.n; ++i) {
      const double now = grid.time(i);
      while (after < t.size() && t[after] < now) ++after;
      if (after == t.size()) break;
      if (t[after] == now)
        line[i] = v[after];
      else if (after > 0 && t[after - 1] >= start && t[after] <= end + 1e-9 &&
               t[after] - t[after - 1] <= gap)
        line[i] = v[after - 1] +
                  (now - t[after - 1]) / (t[after] - t[after - 1]) * (v[after] - v[after - 1]);
    }
    grid.v.push_back(std::move(line));
  }
  return grid;
}

/// Takes single samples out that no wheel could follow: above (or below) both neighbours in time
/// by more than `jump` and back again.
WheelTrace without_spikes(const WheelTrace& wheel) {
  WheelTrace clean = wheel;
  clean.t_s.clear();
  clean.v_mps.clear();
  for (std::size_t i = 0; i < wheel.t_s.size(); ++i) {
    if (i > 0 && i + 1 < wheel.t_s.size()) {
      const double before = wheel.v_mps[i - 1], here = wheel.v_mps[i], after = wheel.v_mps[i + 1];
      const double high = std::max(before, after), low = std::min(before, after);
      const double jump = std::max(1.5, 0.15 * high);
      // Both ways within two samples: a signal, not a wheel. Downwards only a drop to near zero.
      if (here > high + jump || (here < low - jump && here < 0.3 * low && high - low < 0.5 * jump))
        continue;
    }
    clean.t_s.push_back(wheel.t_s[i]);
    clean.v_mps.push_back(wheel.v_mps[i]);
  }
  return clean;
}

/// The accelerometer on the grid; empty without one.
std::vector<double> accel_on_grid(const CarWitness& witness, const Grid& grid) {
  std::vector<double> line;
  if (witness.accel_t_s.size() < 3) return line;
  const double gap =
      std::max(0.3, 3.5 * median_step(witness.accel_t_s, grid.start, grid.time(grid.n - 1)));
  for (std::size_t i = 0; i < grid.n; ++i)
    line.push_back(
        linear_at(witness.accel_t_s, witness.accel_mps2, grid.time(i), gap).value_or(nan));
  return line;
}

struct Edges {
  std::vector<double> top, second_low, low;  // NaN where no wheel is known
};

Edges edges_of(const Grid& grid) {
  Edges edges{std::vector<double>(grid.n, nan), std::vector<double>(grid.n, nan),
              std::vector<double>(grid.n, nan)};
  std::vector<double> here;
  for (std::size_t i = 0; i < grid.n; ++i) {
    here.clear();
    for (const auto& line : grid.v)
      if (!std::isnan(line[i])) here.push_back(line[i]);
    if (here.empty()) continue;
    std::sort(here.begin(), here.end());
    edges.top[i] = here.back();
    edges.low[i] = here.front();
    edges.second_low[i] = here.size() >= 2 ? here[1] : here[0];
  }
  return edges;
}

/// Bridges NaNs by straight lines and ends by the nearest value.
std::vector<double> bridged(const std::vector<double>& value) {
  std::vector<double> result = value;
  std::ptrdiff_t last = -1;
  const auto n = static_cast<std::ptrdiff_t>(result.size());
  for (std::ptrdiff_t i = 0; i < n; ++i) {
    if (std::isnan(result[static_cast<std::size_t>(i)])) continue;
    const double here = result[static_cast<std::size_t>(i)];
    const double before = last >= 0 ? result[static_cast<std::size_t>(last)] : here;
    for (std::ptrdiff_t j = last + 1; j < i; ++j) {
      const double share =
          last >= 0 ? static_cast<double>(j - last) / static_cast<double>(i - last) : 1.0;
      result[static_cast<std::size_t>(j)] = before + share * (here - before);
    }
    last = i;
  }
  if (last >= 0)
    for (std::ptrdiff_t j = last + 1; j < n; ++j)
      result[static_cast<std::size_t>(j)] = result[static_cast<std::size_t>(last)];
  return result;
}

/// Grid points beside which the car starts or stops, two each, so that the curve may jump there.
std::vector<std::size_t> kinks_of(const std::vector<double>& top, double still) {
  std::vector<std::size_t> kinks;
  for (std::size_t i = 1; i < top.size(); ++i)
    if ((top[i] > still) != (top[i - 1] > still)) {
      kinks.push_back(i - 1);
      kinks.push_back(i);
    }
  return kinks;
}

std::vector<double> slope_of(const std::vector<double>& v, double step) {
  std::vector<double> a(v.size(), 0.0);
  for (std::size_t i = 1; i + 1 < v.size(); ++i) a[i] = (v[i + 1] - v[i - 1]) / (2.0 * step);
  if (v.size() >= 2) {
    a.front() = (v[1] - v[0]) / step;
    a.back() = (v[v.size() - 1] - v[v.size() - 2]) / step;
  }
  return a;
}

}  // namespace

std::size_t ReferenceSpeed::index(double t) const {
  const double position = std::round((t - start_s) / step_s);
  return static_cast<std::size_t>(std::clamp(position, 0.0, static_cast<double>(v_mps.size() - 1)));
}

double ReferenceSpeed::at(double t) const {
  if (v_mps.empty() || t < start_s - step_s || t > end_s() + step_s) return nan;
  const double position =
      std::clamp((t - start_s) / step_s, 0.0, static_cast<double>(v_mps.size() - 1));
  const auto below = static_cast<std::size_t>(position);
  const std::size_t above = std::min(below + 1, v_mps.size() - 1);
  if (!valid[below] || !valid[above]) return nan;
  return v_mps[below] + (position - static_cast<double>(below)) * (v_mps[above] - v_mps[below]);
}

double ReferenceSpeed::slope_at(double t) const {
  if (v_mps.empty() || t < start_s - step_s || t > end_s() + step_s) return nan;
  const std::size_t i = index(t);
  return valid[i] ? a_mps2[i] : nan;
}

ReferenceSpeed estimate_reference_speed(std::span<const WheelTrace> raw, double start, double end,
                                        const CarWitness& witness,
                                        const ReferenceSettings& settings) {
  ReferenceSpeed result;
  result.start_s = start;
  std::vector<WheelTrace> wheels;
  double quantum = 0.0;
  for (const WheelTrace& wheel : raw) {
    wheels.push_back(without_spikes(wheel));
    quantum = std::max(quantum, wheel.quantum_mps);
  }
  if (wheels.empty() || !(end > start)) return result;
  const Grid grid = make_grid(wheels, start, end, settings.grid_low_s, settings.grid_high_s);
  result.step_s = grid.step;
  const Edges edges = edges_of(grid);
  result.valid.assign(grid.n, 0);
  std::size_t known = 0;
  for (std::size_t i = 0; i < grid.n; ++i)
    if (!std::isnan(edges.top[i])) result.valid[i] = 1, ++known;
  if (known < 3) {
    result.valid.clear();
    return result;
  }
  std::vector<double> top = bridged(edges.top);
  const std::vector<double> low = bridged(edges.low), second_low = bridged(edges.second_low);
  const std::vector<double> fastest = top;
  std::vector<std::size_t> control;
  for (const double t : witness.control_s)
    if (t >= start && t <= end)
      control.push_back(static_cast<std::size_t>((t - start) / grid.step));
  const auto all_locked = find_all_locked(top, grid.step, accel_on_grid(witness, grid), control);
  for (const AllLocked& stretch : all_locked) {
    for (std::size_t k = 0; k < stretch.v_mps.size(); ++k)
      top[stretch.from + k] = std::max(top[stretch.from + k], stretch.v_mps[k]);
    if (stretch.signal)
      std::fill(result.valid.begin() + static_cast<std::ptrdiff_t>(stretch.from),
                result.valid.begin() + static_cast<std::ptrdiff_t>(stretch.to), 0);
  }

  // Where do the wheels stand apart, and did they part by spinning up or by slowing down?
  result.spread.assign(grid.n, 0);
  result.spin.assign(grid.n, 0);
  for (std::size_t i = 0; i < grid.n; ++i) {
    const double bound =
        std::max({settings.spread_share * top[i], settings.spread_floor_mps, 2.2 * quantum});
    result.spread[i] = top[i] - low[i] > bound ? 1 : 0;
    // Falling faster than any car: all wheels go down together.
    if (i > 0 && top[i] - top[i - 1] < -1.3 * settings.max_decel_mps2 * grid.step)
      result.spread[i] = 1;
  }
  const int look = std::max(2, static_cast<int>(0.3 / grid.step));
  const auto fall = std::max<std::size_t>(2, static_cast<std::size_t>(0.5 / grid.step));
  for (std::size_t i = 0; i < grid.n;) {
    if (!result.spread[i]) {
      ++i;
      continue;
    }
    std::size_t j = i;
    int calm = 0;  // brief agreement inside does not end a stretch
    for (std::size_t k = i; k < grid.n && calm < look; ++k) {
      if (result.spread[k]) {
        j = k;
        calm = 0;
      } else {
        ++calm;
      }
    }
    const std::size_t before = i > static_cast<std::size_t>(look) ? i - look : 0;
    const std::size_t after = std::min(grid.n - 1, i + static_cast<std::size_t>(look));
    const double span = grid.step * static_cast<double>(after - before);
    const double top_rise = (top[after] - top[before]) / span;
    const double low_rise = (second_low[after] - second_low[before]) / span;
    // Spinning: the upper edge rises away from wheels that are not braked. A stretch that opens
    // the log has no "before" and is taken as slip only when the wheels fall.
    // So is a wheel that falls faster than any car slows, down to others that go on rolling.
    bool spun = top_rise > 0.6 && low_rise > -0.8;
    for (std::size_t k = i; k + fall <= j && !spun; ++k)
      spun = top[k] - top[k + fall] >
                 settings.max_decel_mps2 * grid.step * static_cast<double>(fall) &&
             second_low[k] > settings.still_mps && second_low[k + fall] > settings.still_mps &&
             top[k + fall] > second_low[k];
    // And one that rises faster than any car gains speed, beyond all that was before.
    double highest = 0.0;
    const std::size_t past = i > 4 * fall ? i - 4 * fall : 0;
    for (std::size_t k = past; k <= i; ++k) highest = std::max(highest, top[k]);
    for (std::size_t k = i; k + fall <= j && !spun; ++k) {
      highest = std::max(highest, top[k]);
      spun =
          top[k + fall] - highest > settings.max_accel_mps2 * grid.step * static_cast<double>(fall);
    }
    for (std::size_t k = i; k <= j; ++k) {
      result.spread[k] = 1;
      if (spun) result.spin[k] = 1;
    }
    i = j + 1;
  }

  // The edge that carries the car: the fastest wheel, or while wheels spin one that does not.
  std::vector<double> anchor(grid.n);
  for (std::size_t i = 0; i < grid.n; ++i) anchor[i] = result.spin[i] ? second_low[i] : top[i];
  const std::vector<double> ones(grid.n, 1.0);
  const std::vector<double> trend =
      whittaker_smooth(anchor, ones, whittaker_lambda(settings.onset_period_s / grid.step));

  // Final curve: all wheel points near the edge carry it, points off it on either side do not.
  std::vector<double> noise;
  for (const auto& line : grid.v)
    for (std::size_t i = 2; i < grid.n; i += 3)
      if (!result.spread[i] && !std::isnan(line[i]) && !std::isnan(line[i - 1]) &&
          !std::isnan(line[i - 2]))
        noise.push_back(std::abs(line[i] - 2.0 * line[i - 1] + line[i - 2]) / 2.449);
  double sigma = noise.empty() ? 0.05 : median(noise) / 0.6745;
  sigma = std::max({sigma, quantum / std::sqrt(12.0), 0.01});
  // Where the wheels stand apart the curve is stiff, so that it spans the dips of all wheels and
  // runs on where all of them lock at the end; where they roll together it follows them. Braking
  // counts as apart even while the wheels agree: they may all slip by the same share.
  std::vector<char> edge_only(grid.n, 0);
  std::vector<std::size_t> bends;
  for (std::size_t i = 1; i + 1 < grid.n; ++i) {
    const double slope = (trend[i + 1] - trend[i - 1]) / (2.0 * grid.step);
    edge_only[i] = !result.spin[i] && (result.spread[i] || slope < -settings.edge_decel_mps2);
  }
  // The bend where braking sets in stays loose, or the stiff curve would cut it.
  const int bend = std::max(1, static_cast<int>(settings.bend_s / grid.step));
  for (std::size_t i = 0; i < grid.n; ++i) {
    if (!edge_only[i] || (i > 0 && edge_only[i - 1])) continue;
    for (std::size_t k = i;
         k < std::min(grid.n, i + static_cast<std::size_t>(bend)) && edge_only[k]; ++k)
      bends.push_back(k);
  }
  for (const std::size_t k : bends) edge_only[k] = 0;
  std::vector<double> lambda(grid.n);
  const double loose = whittaker_lambda(settings.smooth_period_s / grid.step);
  const double stiff = whittaker_lambda(settings.edge_period_s / grid.step);
  for (std::size_t i = 0; i < grid.n; ++i) lambda[i] = edge_only[i] ? stiff : loose;
  // Starting and stopping are kinks that no smooth curve follows: pieces of motion are cut there.
  const std::vector<std::size_t> kinks = kinks_of(top, settings.still_mps);
  for (const std::size_t k : kinks) lambda[k] = 0.0;
  // Upper envelope first (asymmetric least squares: points below it count next to nothing), whose
  // minimum is the only one whatever it starts from; then the same with all wheels near it.
  std::vector<double> z = trend;
  const double ceiling = 1.1 * *std::max_element(top.begin(), top.end());
  for (int round = 0; round < 12; ++round) {
    std::vector<double> weight(grid.n, 1.0);
    for (std::size_t i = 0; i < grid.n; ++i) {
      if (!edge_only[i]) continue;
      const double off = anchor[i] - z[i], cap = 6.0 * sigma + 0.01 * z[i];
      weight[i] = off < 0.0 ? settings.below_weight : std::min(1.0, cap / std::max(off, 1e-9));
    }
    z = whittaker_smooth(anchor, weight, lambda);
  }
  const std::vector<double> envelope = z;
  for (int round = 0; round < 8; ++round) {
    std::vector<double> value(grid.n), weight(grid.n);
    for (std::size_t i = 0; i < grid.n; ++i) {
      const bool slipping = edge_only[i] != 0;
      // The envelope holds the curve where no wheel is near it.
      double sum_w = slipping ? settings.below_weight : 0.05;
      double sum = sum_w * (slipping ? envelope[i] : anchor[i]);
      const double band = 2.5 * sigma + 0.004 * std::abs(z[i]);
      for (const auto& line : grid.v) {
        if (std::isnan(line[i])) continue;
        const double off = line[i] - z[i];
        double w = 1.0;
        if (off > band && result.spin[i])
          w = std::pow(band / off, 4.0);
        else if (off > 4.0 * band)
          w = 4.0 * band / off;  // wheels do not outrun a braking car: a pull upwards
        else if (off < -band)
          w = std::pow(band / -off, slipping ? 6.0 : 2.0);
        sum_w += w;
        sum += w * line[i];
      }
      value[i] = sum / sum_w;
      weight[i] = sum_w;
    }
    z = whittaker_smooth(value, weight, lambda);
    for (double& v : z) v = std::min(v, ceiling);
  }
  for (double& v : z) v = std::max(v, 0.0);
  for (std::size_t i = 0; i < grid.n; ++i)
    if (top[i] <= settings.still_mps) z[i] = 0.0;
  for (const AllLocked& stretch : all_locked)
    std::copy(stretch.v_mps.begin(), stretch.v_mps.end(),
              z.begin() + static_cast<std::ptrdiff_t>(stretch.from));
  // The wheels stand, locked or below what their sensors read, a moment before the car does.
  const auto run_up = static_cast<std::size_t>(std::ceil(0.3 / grid.step));
  for (const std::size_t k : kinks) {
    if (k < run_up || top[k] > settings.still_mps || z[k] > 0.0) continue;
    const double a = (z[k - 1] - z[k - run_up]) / (grid.step * static_cast<double>(run_up - 1));
    if (!(a < -settings.edge_decel_mps2)) continue;
    double v = z[k - 1] + a * grid.step;
    for (std::size_t i = k; i < grid.n && v > 0.0 && top[i] <= settings.still_mps;
         ++i, v += a * grid.step)
      z[i] = v;
  }

  std::vector<double> touching;
  for (const auto& line : grid.v)
    for (std::size_t i = 0; i < grid.n; ++i)
      if (!std::isnan(line[i]) && !result.spread[i] && z[i] > 1.0)
        touching.push_back(std::abs(line[i] - z[i]));
  result.sigma_mps = touching.size() > 20 ? std::max(median(touching) / 0.6745, 0.005) : sigma;
  result.v_mps = std::move(z);
  result.a_mps2 = slope_of(result.v_mps, grid.step);
  return result;
}

WheelScales estimate_wheel_scales(std::span<const WheelTrace> wheels, double start, double end) {
  WheelScales scales;
  scales.scale.assign(wheels.size(), 1.0);
  if (wheels.size() < 2 || !(end > start)) return scales;
  const Grid grid = make_grid(wheels, start, end, 0.02, 0.1);
  std::vector<double> middle(grid.n, nan);
  std::vector<double> here;
  for (std::size_t i = 0; i < grid.n; ++i) {
    here.clear();
    for (const auto& line : grid.v)
      if (!std::isnan(line[i])) here.push_back(line[i]);
    if (here.size() == wheels.size()) middle[i] = median(here);
  }
  const std::vector<double> trend = whittaker_smooth(
      bridged(middle), std::vector<double>(grid.n, 1.0), whittaker_lambda(1.0 / grid.step));
  const std::vector<double> slope = slope_of(trend, grid.step);
  const int margin = std::max(1, static_cast<int>(0.25 / grid.step));
  std::vector<double> rough(grid.n);
  for (std::size_t i = 0; i < grid.n; ++i) rough[i] = std::abs(slope[i]);
  const auto worst = running_max(rough, margin);
  std::vector<std::vector<double>> ratio(wheels.size());
  for (std::size_t i = 0; i < grid.n; ++i) {
    // Free rolling only: fast enough, neither braked nor pulling away (a driven wheel that spins
    // would teach a false size).
    if (std::isnan(middle[i]) || middle[i] < 4.0 || worst[i] > 0.8) continue;
    scales.calm_s += grid.step;
    for (std::size_t k = 0; k < wheels.size(); ++k) ratio[k].push_back(middle[i] / grid.v[k][i]);
  }
  if (scales.calm_s < 1.0) return scales;
  for (std::size_t k = 0; k < wheels.size(); ++k) {
    const double centre = median(ratio[k]);
    const double spread = quantile(ratio[k], 0.75) - quantile(ratio[k], 0.25);
    // A spread beyond quantisation and noise means curves or slip: no scale can be told.
    const double allowed = 0.012 + wheels[k].quantum_mps / 6.0;
    if (spread < allowed && centre > 0.7 && centre < 1.43) scales.scale[k] = centre;
  }
  return scales;
}

}  // namespace stopledger
