#include "signal/slip.h"

#include <cassert>
#include <cmath>
#include <limits>

namespace stopledger {

std::vector<double> longitudinal_slip(std::span<const double> v_ref_mps,
                                      std::span<const double> v_wheel_mps, MetresPerSecond floor) {
  assert(v_ref_mps.size() == v_wheel_mps.size());
  std::vector<double> slip(v_ref_mps.size(), std::numeric_limits<double>::quiet_NaN());
  for (std::size_t i = 0; i < slip.size(); ++i)
    if (v_ref_mps[i] >= floor.value() && !std::isnan(v_wheel_mps[i]))
      slip[i] = (v_ref_mps[i] - v_wheel_mps[i]) / v_ref_mps[i];
  return slip;
}

}  // namespace stopledger
