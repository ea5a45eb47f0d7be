#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace stopledger {

/// Value at `t` on the straight line between the samples around it.
///
/// Shape:    `t_s` not decreasing, same length as `value`.
/// Gaps:     nothing before the first or after the last sample, or where the samples around `t`
///           lie more than `max_gap_s` apart.
std::optional<double> linear_at(std::span<const double> t_s, std::span<const double> value,
                                double t, double max_gap_s);

/// The last value at or before `t`, when not older than `max_age_s`.
std::optional<double> held_at(std::span<const double> t_s, std::span<const double> value, double t,
                              double max_age_s);

/// Index of the first sample at or after `t`.
std::size_t first_at_or_after(std::span<const double> t_s, double t);

/// Samples per second within [start, end]; 0 with fewer than two.
double local_rate_hz(std::span<const double> t_s, double start, double end);

/// Median of the values; the vector is taken by value and reordered. NaN when empty.
double median(std::vector<double> values);

/// Quantile by linear interpolation between order statistics; `q` from 0 to 1. NaN when empty.
double quantile(std::vector<double> values, double q);

}  // namespace stopledger
