#pragma once

#include <vector>

namespace stopledger {

/// One wheel's circumferential speed on its own clock (m/s), or another speed that cannot exceed
/// the car's while braking.
struct WheelTrace {
  std::vector<double> t_s;
  std::vector<double> v_mps;
  bool driven_known = false;
  bool driven = false;
  double quantum_mps = 0.0;  ///< step of the written values; 0 when fine
};

}  // namespace stopledger
