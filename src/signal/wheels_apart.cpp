#include "signal/wheels_apart.h"

#include <algorithm>
#include <cmath>

#include "signal/series.h"
#include "signal/smooth.h"

namespace stopledger {

namespace {

/// 1 where the car brakes: it is known to, or even its slower wheels lose speed together.
std::vector<char> braking(const WheelEdges& edges, const ReferenceSettings& settings) {
  const std::vector<double> low(edges.second_low.begin(), edges.second_low.end());
  const std::vector<double> slope =
      slope_of(whittaker_smooth(low, std::vector<double>(low.size(), 1.0),
                                whittaker_lambda(settings.onset_period_s / edges.step_s)),
               edges.step_s);
  std::vector<char> brakes(edges.braked.begin(), edges.braked.end());
  for (std::size_t i = 0; i < brakes.size(); ++i)
    if (slope[i] < -settings.edge_decel_mps2) brakes[i] = 1;
  return brakes;
}

/// Whether the wheels that stand apart over [from, to] do so by spinning up.
bool spins(const WheelEdges& edges, std::size_t from, std::size_t to, bool braked,
           const ReferenceSettings& settings) {
  const std::span<const double> top = edges.top, second_low = edges.second_low;
  const auto look = std::max<std::size_t>(2, static_cast<std::size_t>(0.3 / edges.step_s));
  const auto fall = std::max<std::size_t>(2, static_cast<std::size_t>(0.5 / edges.step_s));
  const double fall_s = edges.step_s * static_cast<double>(fall);
  // From standstill wheels can only part by spinning up, whatever the pedal did just before.
  const std::size_t stood_from = from > fall ? from - fall : 0;
  if (from > fall &&
      *std::max_element(top.begin() + static_cast<std::ptrdiff_t>(stood_from),
                        top.begin() + static_cast<std::ptrdiff_t>(from)) < settings.still_mps)
    return true;
  const std::size_t before = from > look ? from - look : 0;
  const std::size_t after = std::min(top.size() - 1, from + look);
  const double span = edges.step_s * static_cast<double>(after - before);
  const double top_rise = (top[after] - top[before]) / span;
  const double low_rise = (second_low[after] - second_low[before]) / span;
  // The upper edge rises away from wheels that are not braked. A stretch that opens the log has no
  // "before" and is taken as slip only when the wheels fall.
  if (!braked && top_rise > settings.spin_rise_mps2 && low_rise > -settings.spin_rest_mps2)
    return true;
  // So is a wheel that falls faster than any car slows, down to others that go on rolling.
  for (std::size_t k = from; k + fall <= to; ++k)
    if (top[k] - top[k + fall] > settings.max_decel_mps2 * fall_s &&
        second_low[k] > settings.still_mps && second_low[k + fall] > settings.still_mps &&
        top[k + fall] > second_low[k])
      return true;
  // And one that rises faster than any car gains speed, beyond all that was before.
  double highest = 0.0;
  for (std::size_t k = from > 4 * fall ? from - 4 * fall : 0; k <= from; ++k)
    highest = std::max(highest, top[k]);
  for (std::size_t k = from; k + fall <= to; ++k) {
    highest = std::max(highest, top[k]);
    if (top[k + fall] - highest > settings.max_accel_mps2 * fall_s) return true;
  }
  return false;
}

}  // namespace

WheelsApart wheels_apart(const WheelEdges& edges, const ReferenceSettings& settings) {
  const std::size_t n = edges.top.size();
  WheelsApart apart{std::vector<char>(n, 0), std::vector<char>(n, 0)};
  // Six standard deviations lie between the ends of four noisy wheels once in some 10,000 looks.
  const double least = std::max({settings.spread_floor_mps, 2.2 * edges.quantum_mps,
                                 settings.spread_noise * edges.noise_mps});
  const double steepest =
      1.3 * settings.max_decel_mps2 * edges.step_s + settings.spread_noise * edges.noise_mps;
  for (std::size_t i = 0; i < n; ++i) {
    const double bound = std::max(settings.spread_share * edges.top[i], least);
    // Falling faster than any car: all wheels go down together.
    const bool fell = i > 0 && edges.top[i - 1] - edges.top[i] > steepest;
    apart.spread[i] = fell || edges.top[i] - edges.low[i] > bound ? 1 : 0;
  }
  const std::vector<char> brakes = braking(edges, settings);
  const auto look = std::max<std::size_t>(2, static_cast<std::size_t>(0.3 / edges.step_s));
  for (std::size_t i = 0; i < n;) {
    if (!apart.spread[i]) {
      ++i;
      continue;
    }
    std::size_t j = i, calm = 0;  // brief agreement inside does not end a stretch
    for (std::size_t k = i; k < n && calm < look; ++k) {
      if (k > i && brakes[k] && !brakes[k - 1]) break;
      calm = apart.spread[k] ? 0 : calm + 1;
      if (apart.spread[k]) j = k;
    }
    const bool spun = spins(edges, i, j, brakes[i] != 0, settings);
    for (std::size_t k = i; k <= j; ++k) {
      apart.spread[k] = 1;
      if (spun) apart.spin[k] = 1;
    }
    i = j + 1;
  }
  return apart;
}

double line_noise(const SpeedGrid& grid) {
  std::vector<double> bends;
  for (const auto& line : grid.v)
    for (std::size_t i = 2; i < grid.n; i += 3)
      if (!std::isnan(line[i]) && !std::isnan(line[i - 1]) && !std::isnan(line[i - 2]) &&
          line[i] > 1.0)
        bends.push_back(std::abs(line[i] - 2.0 * line[i - 1] + line[i - 2]) / std::sqrt(6.0));
  return bends.empty() ? 0.05 : median(std::move(bends)) / 0.6745;
}

}  // namespace stopledger
