#include "signal/speed_grid.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "signal/series.h"

namespace stopledger {

namespace {

constexpr double unknown_speed = std::numeric_limits<double>::quiet_NaN();
constexpr double rounding_s = 1e-9;  // of a time that is meant to be the end

}  // namespace

double median_step(const std::vector<double>& t, double start, double end) {
  std::vector<double> steps;
  for (std::size_t i = first_at_or_after(t, start) + 1; i < t.size() && t[i] <= end; ++i)
    if (t[i] > t[i - 1]) steps.push_back(t[i] - t[i - 1]);
  return median(std::move(steps));
}

SpeedGrid make_speed_grid(std::span<const WheelTrace> wheels, double start, double end, double low,
                          double high) {
  double finest = high * 2.0;
  std::vector<double> steps;
  for (const WheelTrace& wheel : wheels) {
    const double step = median_step(wheel.t_s, start, end);
    steps.push_back(step);
    if (step > 0.0) finest = std::min(finest, step);
  }
  SpeedGrid grid;
  grid.start = start;
  grid.step = std::clamp(finest, low, high);
  // An hour at the finest grid would be pointless memory: cap the number of points.
  grid.step = std::max(grid.step, (end - start) / 600000.0);
  grid.n = static_cast<std::size_t>((end - start) / grid.step) + 1;
  for (std::size_t k = 0; k < wheels.size(); ++k) {
    const double gap = std::max(0.3, 3.5 * (steps[k] > 0.0 ? steps[k] : 1.0));
    std::vector<double> line(grid.n, unknown_speed);
    std::size_t after = first_at_or_after(wheels[k].t_s, start);
    const auto& t = wheels[k].t_s;
    const auto& v = wheels[k].v_mps;
    for (std::size_t i = 0; i < grid.n; ++i) {
      const double now = grid.time(i);
      while (after < t.size() && t[after] < now) ++after;
      if (after == t.size()) break;
      if (t[after] == now)
        line[i] = v[after];
      else if (after > 0 && t[after - 1] >= start && t[after] <= end + rounding_s &&
               t[after] - t[after - 1] <= gap)
        line[i] = v[after - 1] +
                  (now - t[after - 1]) / (t[after] - t[after - 1]) * (v[after] - v[after - 1]);
    }
    grid.v.push_back(std::move(line));
  }
  return grid;
}

WheelTrace without_spikes(const WheelTrace& wheel, double start, double end) {
  WheelTrace clean;
  clean.driven_known = wheel.driven_known;
  clean.driven = wheel.driven;
  clean.quantum_mps = wheel.quantum_mps;
  const std::size_t first = first_at_or_after(wheel.t_s, start);
  for (std::size_t i = first; i < wheel.t_s.size() && wheel.t_s[i] <= end + rounding_s; ++i) {
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

SpeedEdges edges_of(const SpeedGrid& grid) {
  SpeedEdges edges{std::vector<double>(grid.n, unknown_speed),
                   std::vector<double>(grid.n, unknown_speed),
                   std::vector<double>(grid.n, unknown_speed)};
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

std::vector<double> slope_of(const std::vector<double>& v, double step) {
  std::vector<double> a(v.size(), 0.0);
  for (std::size_t i = 1; i + 1 < v.size(); ++i) a[i] = (v[i + 1] - v[i - 1]) / (2.0 * step);
  if (v.size() >= 2) {
    a.front() = (v[1] - v[0]) / step;
    a.back() = (v[v.size() - 1] - v[v.size() - 2]) / step;
  }
  return a;
}

}  // namespace stopledger
