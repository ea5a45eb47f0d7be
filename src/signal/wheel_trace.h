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

/// What tells of the car's motion without its wheels.
struct CarWitness {
  std::vector<double> accel_t_s, accel_mps2;  ///< longitudinal, of unknown offset and gain
  std::vector<double> control_s;              ///< when control set in anew, ascending
  struct Span {
    double start_s = 0.0, end_s = 0.0;
  };
  bool pedal_known = false;  ///< the brake switch is logged
  std::vector<Span> pedal;   ///< while it was seen on
};

}  // namespace stopledger
