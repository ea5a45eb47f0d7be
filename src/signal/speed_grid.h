#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "signal/wheel_trace.h"

namespace stopledger {

/// All traces on one even grid; NaN where the samples around lie too far apart.
struct SpeedGrid {
  double start = 0.0, step = 0.05;  ///< s
  std::size_t n = 0;
  std::vector<std::vector<double>> v;

  [[nodiscard]] double time(std::size_t i) const { return start + step * static_cast<double>(i); }
};

/// The traces within [start, end] on the grid of the finest one, between `low` and `high` seconds.
SpeedGrid make_speed_grid(std::span<const WheelTrace> wheels, double start, double end, double low,
                          double high);

/// Fastest, slowest and second slowest wheel at each grid point; NaN where no wheel is known.
struct SpeedEdges {
  std::vector<double> top, second_low, low;
};
SpeedEdges edges_of(const SpeedGrid& grid);

/// Bridges NaNs by straight lines and ends by the nearest value.
std::vector<double> bridged(const std::vector<double>& value);

/// Slope of values on an even grid, by central differences.
std::vector<double> slope_of(const std::vector<double>& v, double step);

/// Usual time between the samples within [start, end]; 0 with fewer than two.
double median_step(const std::vector<double>& t, double start, double end);

/// What make_speed_grid needs of a trace for [start, end], without single samples that no wheel
/// could follow: above (or below) both neighbours in time and back again.
WheelTrace without_spikes(const WheelTrace& wheel, double start, double end);

}  // namespace stopledger
