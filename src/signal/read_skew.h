#pragma once

#include <optional>
#include <span>
#include <vector>

namespace stopledger {

/// One wheel's samples for the estimate.
struct SkewTrace {
  std::span<const double> t_s, v_mps;
};

/// A stretch of rolling of about a second.
struct SkewWindow {
  double v_mps = 0.0;           ///< mean speed of both wheels
  double a_mps2 = 0.0;          ///< mean change of speed of both
  double difference_mps = 0.0;  ///< mean of second minus first
};

/// How much later than the first wheel's the second one's value was read than its stamp says.
struct ReadSkew {
  double s = 0.0;                    ///< below zero: sooner
  double se_s = 0.0;                 ///< standard error
  double low_s = 0.0, high_s = 0.0;  ///< 95 % limits
  std::size_t windows = 0;
};

/// Windows in which both wheels roll: above walking pace, neither braked hard nor apart by more
/// than a bend explains. Traces: equal units, times not decreasing; start and end bound them.
std::vector<SkewWindow> skew_windows(const SkewTrace& first, const SkewTrace& second,
                                     double start_s, double end_s);

/// Least squares of the windows: difference = scale v + skew a, without a constant, the standard
/// error of the skew by a block jackknife (eight stretches of neighbouring windows, since a bend
/// lasts longer than a window), the limits by Student's t with seven degrees of freedom.
///
/// The noise of the samples is in both sides, but even in the one and odd in the other, so that it
/// does not bend the slope; in `a` itself it is a hundredth of the changes that are asked for.
///
/// Only for the two wheels of one axle: between axles the slip of driving and braking, which is
/// also in proportion to `a`, cannot be told from a skew (simulated: 5 to 36 ms of bias).
///
/// Nothing with fewer than 16 windows, or where the speed hardly changes.
/// Source:   SC-34 in tests/SOURCES.md.
std::optional<ReadSkew> fit_read_skew(std::span<const SkewWindow> windows);

}  // namespace stopledger
