#include "signal/reference_speed.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "signal/all_locked.h"
#include "signal/series.h"
#include "signal/smooth.h"
#include "signal/speed_grid.h"
#include "signal/wheels_apart.h"

namespace stopledger {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

/// The accelerometer on the grid; empty without one.
std::vector<double> accel_on_grid(const CarWitness& witness, const SpeedGrid& grid) {
  std::vector<double> line;
  if (witness.accel_t_s.size() < 3) return line;
  const double gap =
      std::max(0.3, 3.5 * median_step(witness.accel_t_s, grid.start, grid.time(grid.n - 1)));
  line.reserve(grid.n);
  const std::span<const double> t = witness.accel_t_s, a = witness.accel_mps2;
  std::size_t after = first_at_or_after(t, grid.start);
  for (std::size_t i = 0; i < grid.n; ++i) {
    const double now = grid.time(i);
    while (after < t.size() && t[after] < now) ++after;
    const std::size_t before = after > 0 ? after - 1 : 0;
    const std::size_t count = std::min<std::size_t>(2, t.size() - before);
    line.push_back(
        linear_at(t.subspan(before, count), a.subspan(before, count), now, gap).value_or(nan));
  }
  return line;
}

/// 1 where the car was surely braked: the brake switch was on, or, where that is not logged,
/// control acted before and after with no longer pause than it takes within one stop. (Control
/// works without the pedal too: traction and stability.)
std::vector<char> braked_on_grid(const CarWitness& witness, const SpeedGrid& grid, double pause_s) {
  std::vector<char> braked(grid.n, 0);
  const auto mark = [&](double from, double to) {
    const double first = std::max(0.0, std::ceil((from - grid.start) / grid.step));
    for (auto i = static_cast<std::size_t>(first); i < grid.n && grid.time(i) <= to; ++i)
      braked[i] = 1;
  };
  for (const CarWitness::Span& span : witness.pedal) mark(span.start_s, span.end_s);
  for (std::size_t k = 1; k < witness.control_s.size() && !witness.pedal_known; ++k)
    if (witness.control_s[k] - witness.control_s[k - 1] <= pause_s)
      mark(witness.control_s[k - 1], witness.control_s[k]);
  return braked;
}

/// The least deceleration (per grid step) that leads from `b` to a point of the upper edge half of
/// `reach` to `reach` later: what the car does while a wheel carries it. None where the braking
/// ends before: then no more is sure than that the car was not slower before.
double least_fall_after(const std::vector<double>& top, const std::vector<char>& braked,
                        std::size_t b, std::size_t reach) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t k = b + 1 + reach / 2; k < top.size() && k <= b + 1 + reach && braked[k]; ++k)
    least = std::min(least, (top[b] - top[k]) / static_cast<double>(k - b));
  return std::isfinite(least) ? least : 0.0;
}

/// Raises the upper edge to what the wheels come up to later in the same braking: a braked car
/// gains no speed. From there back it is a line to where a wheel carried the car before, as steep
/// as the car slowed on the way there or does after, whichever is less (the ground may have
/// changed). Standing ends a braking.
void raise_to_later(std::vector<double>& top, const std::vector<char>& braked, double step_s,
                    const ReferenceSettings& settings) {
  const auto reach = static_cast<std::size_t>(settings.control_pause_s / step_s);
  const auto past = static_cast<std::size_t>(settings.swing_past_s / step_s);
  for (std::size_t end = top.size(); end-- > 0;) {
    if (!braked[end] || top[end] <= settings.still_mps) continue;
    std::size_t start = end;
    while (start > 0 && braked[start - 1] && top[start - 1] > settings.still_mps) --start;
    for (std::size_t b = end; b > start; --b) {
      // A point that the edge was well below before: a wheel has come back up to the car's speed.
      const double bound = std::max(settings.spread_share * top[b], settings.spread_floor_mps);
      if (top[b] - top[b - 1] <= 0.0 || (b < end && top[b + 1] > top[b])) continue;
      std::size_t low = b;
      while (low > start && top[low - 1] < top[b]) --low;
      if (low == b || top[b] - *std::min_element(top.begin() + static_cast<std::ptrdiff_t>(low),
                                                 top.begin() + static_cast<std::ptrdiff_t>(b)) <=
                          bound)
        continue;
      const double before = (top[start] - top[b]) / static_cast<double>(b - start);
      const double fall = std::max(0.0, std::min(before, least_fall_after(top, braked, b, reach)));
      // A wheel let go swings past the car for a moment before it follows it.
      double line = top[b];
      for (std::size_t k = b + 1; k < top.size() && k <= b + past; ++k)
        line = std::min(line, top[k] + fall * static_cast<double>(k - b));
      for (std::size_t k = b; k-- > start;) {
        line += fall;
        if (k < low && top[k] >= line) break;
        top[k] = std::max(top[k], line);
      }
    }
    end = start;
  }
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

}  // namespace

std::size_t ReferenceSpeed::index(double t) const {
  const double position = std::round((t - start_s) / step_s);
  return static_cast<std::size_t>(std::clamp(position, 0.0, static_cast<double>(v_mps.size() - 1)));
}

double ReferenceSpeed::at(double t) const {
  if (!reaches(t)) return nan;
  const double position =
      std::clamp((t - start_s) / step_s, 0.0, static_cast<double>(v_mps.size() - 1));
  const auto below = static_cast<std::size_t>(position);
  const std::size_t above = std::min(below + 1, v_mps.size() - 1);
  if (!valid[below] || !valid[above]) return nan;
  return v_mps[below] + (position - static_cast<double>(below)) * (v_mps[above] - v_mps[below]);
}

double ReferenceSpeed::slope_at(double t) const {
  if (!reaches(t)) return nan;
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
    wheels.push_back(without_spikes(wheel, start, end));
    quantum = std::max(quantum, wheel.quantum_mps);
  }
  if (wheels.empty() || !(end > start)) return result;
  const SpeedGrid grid =
      make_speed_grid(wheels, start, end, settings.grid_low_s, settings.grid_high_s);
  result.step_s = grid.step;
  const SpeedEdges edges = edges_of(grid);
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
  result.carried.assign(grid.n, 0);
  for (const AllLocked& stretch : all_locked) {
    if (!stretch.measured)
      std::fill_n(result.carried.begin() + static_cast<std::ptrdiff_t>(stretch.from),
                  stretch.v_mps.size(), 1);
    for (std::size_t k = 0; k < stretch.v_mps.size(); ++k)
      top[stretch.from + k] = std::max(top[stretch.from + k], stretch.v_mps[k]);
    if (stretch.signal)
      std::fill(result.valid.begin() + static_cast<std::ptrdiff_t>(stretch.from),
                result.valid.begin() + static_cast<std::ptrdiff_t>(stretch.to), 0);
  }

  const std::vector<char> braked = braked_on_grid(witness, grid, settings.control_pause_s);
  raise_to_later(top, braked, grid.step, settings);
  double sigma = line_noise(grid);
  WheelsApart apart =
      wheels_apart({top, low, second_low, braked, grid.step, sigma, quantum}, settings);
  result.spread = std::move(apart.spread);
  result.spin = std::move(apart.spin);

  // The edge that carries the car: the fastest wheel, or while wheels spin one that does not.
  std::vector<double> anchor(grid.n);
  for (std::size_t i = 0; i < grid.n; ++i) anchor[i] = result.spin[i] ? second_low[i] : top[i];
  const std::vector<double> ones(grid.n, 1.0);
  const std::vector<double> trend =
      whittaker_smooth(anchor, ones, whittaker_lambda(settings.onset_period_s / grid.step));

  // Final curve: all wheel points near the edge carry it, points off it on either side do not.
  sigma = std::max({sigma, quantum / std::sqrt(12.0), 0.01});
  // Where the wheels stand apart the curve is stiff, so that it spans the dips of all wheels and
  // runs on where all of them lock at the end; where they roll together it follows them. Braking
  // counts as apart even while the wheels agree: they may all slip by the same share.
  std::vector<char> edge_only(grid.n, 0);
  std::vector<std::size_t> bends;
  for (std::size_t i = 1; i + 1 < grid.n; ++i) {
    const double slope = (trend[i + 1] - trend[i - 1]) / (2.0 * grid.step);
    edge_only[i] =
        !result.spin[i] && (result.spread[i] || braked[i] || slope < -settings.edge_decel_mps2);
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
  std::vector<double> z = trend, weight, value;
  const double ceiling = 1.1 * *std::max_element(top.begin(), top.end());
  for (int round = 0; round < 12; ++round) {
    // What is solved as before gives what it gave: in quiet driving after the first round.
    const std::vector<double> weight_before = std::exchange(weight, {});
    weight.assign(grid.n, 1.0);
    for (std::size_t i = 0; i < grid.n; ++i) {
      if (!edge_only[i]) continue;
      const double off = anchor[i] - z[i], cap = 6.0 * sigma + 0.01 * z[i];
      weight[i] = off < 0.0 ? settings.below_weight : std::min(1.0, cap / std::max(off, 1e-9));
    }
    if (weight == weight_before) break;
    z = whittaker_smooth(anchor, weight, lambda);
  }
  const std::vector<double> envelope = z;
  for (int round = 0; round < 8; ++round) {
    const std::vector<double> value_before = std::exchange(value, std::vector<double>(grid.n));
    const std::vector<double> weight_before = std::exchange(weight, std::vector<double>(grid.n));
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
    if (value == value_before && weight == weight_before) break;
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

}  // namespace stopledger
