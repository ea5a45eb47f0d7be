#pragma once

#include "base/car.h"
#include "log/log.h"

namespace stopledger {

/// Yaw rate, steering angle and accelerations without a unit: decided by what the wheels show of
/// the car's motion, or by a size that only one unit allows; else the channel is taken out of `log`
/// and asked about. Which it was, and why, is noted.
///
/// Requires: speeds already in m/s, as far as they are known (settle_speed_units).
/// Source: kinematics of a car on a circle; a factor of three is left for what it neglects (slip
/// angles, an unknown track and steering ratio), and the units in question are farther apart.
void settle_motion_units(Log& log, const CarFacts& car);

}  // namespace stopledger
