#pragma once

#include <span>
#include <vector>

#include "base/quantity.h"

namespace stopledger {

/// Longitudinal slip of one wheel against the vehicle reference speed.
///
/// slip = (v_ref - v_wheel) / v_ref: 0 rolls freely, 1 is a locked wheel.
///
/// Shape:    both inputs n samples on one time base; result n samples.
/// Unit:     m/s in; ratio out (0.20 is 20 %).
/// Gaps:     NaN where an input is NaN or v_ref is below `floor`.
/// Requires: equal lengths.  Does not throw.
/// Source:   VD-01 in tests/SOURCES.md.
std::vector<double> longitudinal_slip(std::span<const double> v_ref_mps,
                                      std::span<const double> v_wheel_mps, MetresPerSecond floor);

}  // namespace stopledger
