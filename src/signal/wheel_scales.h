#pragma once

#include <span>
#include <vector>

#include "signal/wheel_trace.h"

namespace stopledger {

/// Multiplier for each trace that makes all of them agree in free rolling; 1 where there is not
/// enough calm rolling to tell. Curves, braking, pulling away and spinning are left out.
struct WheelScales {
  std::vector<double> scale;
  double calm_s = 0.0;  ///< how much free rolling the scales rest on
};
WheelScales estimate_wheel_scales(std::span<const WheelTrace> wheels, double start, double end);

}  // namespace stopledger
