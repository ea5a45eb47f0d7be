#pragma once

#include "model/case.h"
#include "model/random.h"

namespace stopledger::model {

/// The wheel-speed sensors with their faults.
class WheelSensors {
 public:
  explicit WheelSensors(const Case& c);

  /// What the controller is told of the true spins (rad/s): speed by the nominal radius (m/s).
  PerCorner<double> read(const PerCorner<double>& spin, double dt_s, Random& random);

 private:
  double radius_m_;
  int sensors_;
  PerCorner<double> dead_, dropout_, cracked_;
  bool swapped_front_ = false, swapped_rear_ = false;
  PerCorner<double> angle_;  // turn of the ring (rad)
  PerCorner<double> silent_left_s_;
};

}  // namespace stopledger::model
