#pragma once

#include <span>
#include <vector>

namespace stopledger {

/// Smooth curve through weighted values on an even grid: minimises
/// sum weight (value - z)^2 + lambda sum (second difference of z)^2.
///
/// Shape:    `value` and `weight` n points; result n points. Weight 0 marks a gap, bridged by a
///           straight line. Requires: at least one positive weight, lambda > 0.
/// Source:   Whittaker 1922; Eilers, A perfect smoother, Anal. Chem. 75 (2003) 3631 (S-SM1).
std::vector<double> whittaker_smooth(std::span<const double> value, std::span<const double> weight,
                                     double lambda);

/// The same with a penalty of its own for each second difference: `lambda[i]` weighs the one that
/// is centred on point i (the first and last are not used).
std::vector<double> whittaker_smooth(std::span<const double> value, std::span<const double> weight,
                                     std::span<const double> lambda);

/// Penalty of `whittaker_smooth` whose response falls to one half at a wave of `period` grid
/// steps: lambda = (2 sin(pi / period))^-4 (from the transfer function 1/(1 + lambda |2
/// sin(w/2)|^4)).
double whittaker_lambda(double period);

/// Largest value within `half` grid points on either side (a running maximum).
std::vector<double> running_max(std::span<const double> value, int half);

/// Smallest value within `half` grid points on either side.
std::vector<double> running_min(std::span<const double> value, int half);

}  // namespace stopledger
