#pragma once

#include <optional>
#include <span>

namespace stopledger {

/// A slope that single bad points do not move.
struct RobustSlope {
  double slope = 0.0;     ///< median of the slopes of all pairs
  double low = 0.0;       ///< limits of the two-sided 95 % confidence interval
  double high = 0.0;      ///< (the whole range of slopes while there are too few pairs)
  std::size_t pairs = 0;  ///< pairs with different x
};

/// Theil-Sen slope of y over x with Sen's confidence interval (normal form, ties in x and y
/// accounted for).
///
/// Shape:    both n values, in any order; pairs with equal x are left out.
/// Unit:     unit of y per unit of x.
/// Requires: equal lengths, finite values.
/// Nothing when no two x differ.
/// Source:   Sen 1968, J. Am. Stat. Assoc. 63; SC-21, SC-30 in tests/SOURCES.md.
std::optional<RobustSlope> theil_sen(std::span<const double> x, std::span<const double> y);

}  // namespace stopledger
