#include "signal/wheel_scales.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "signal/series.h"
#include "signal/smooth.h"
#include "signal/speed_grid.h"

namespace stopledger {

WheelScales estimate_wheel_scales(std::span<const WheelTrace> wheels, double start, double end) {
  WheelScales scales;
  scales.scale.assign(wheels.size(), 1.0);
  if (wheels.size() < 2 || !(end > start)) return scales;
  const SpeedGrid grid = make_speed_grid(wheels, start, end, 0.02, 0.1);
  std::vector<double> middle(grid.n, std::numeric_limits<double>::quiet_NaN());
  std::vector<double> here;
  for (std::size_t i = 0; i < grid.n; ++i) {
    here.clear();
    for (const auto& line : grid.v)
      if (!std::isnan(line[i])) here.push_back(line[i]);
    if (here.size() != wheels.size()) continue;
    // median() would copy them at each of a long log's points.
    std::sort(here.begin(), here.end());
    const std::size_t half = (here.size() - 1) / 2;
    middle[i] = here[half] + 0.5 * (here[here.size() / 2] - here[half]);
  }
  const std::vector<double> trend = whittaker_smooth(
      bridged(middle), std::vector<double>(grid.n, 1.0), whittaker_lambda(1.0 / grid.step));
  const std::vector<double> slope = slope_of(trend, grid.step);
  const int margin = std::max(1, static_cast<int>(0.25 / grid.step));
  std::vector<double> rough(grid.n);
  for (std::size_t i = 0; i < grid.n; ++i) rough[i] = std::abs(slope[i]);
  const auto worst = running_max(rough, margin);
  // Free rolling only: fast enough, neither braked nor pulling away (a driven wheel that slips
  // would teach a false size: on ice at half a metre per second squared). The calmest that
  // suffices.
  std::vector<std::vector<double>> ratio(wheels.size());
  for (const double calm_mps2 : {0.2, 0.4, 0.8}) {
    for (auto& one : ratio) one.clear();
    scales.calm_s = 0.0;
    for (std::size_t i = 0; i < grid.n; ++i) {
      if (std::isnan(middle[i]) || middle[i] < 4.0 || worst[i] > calm_mps2) continue;
      scales.calm_s += grid.step;
      for (std::size_t k = 0; k < wheels.size(); ++k) ratio[k].push_back(middle[i] / grid.v[k][i]);
    }
    if (scales.calm_s >= 1.0) break;
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
