#pragma once

#include "base/car.h"
#include "verify/commands.h"
#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// Fills the stability and traction parts of an episode of that kind; leaves others alone.
///
/// Traction: torque cut = throttle (or ignition) pulled back while the pedal is held. Stability:
/// the driver's wish by the bicycle model, limited by friction, against the measured yaw rate.
/// Source: VD-03, VD-06, EC-16 in tests/SOURCES.md.
void judge_control_episode(const PreparedLog& run, const PerCorner<Commands>& commands,
                           const CarFacts& car, Stretch& stretch);

/// Steady yaw rate that the steering asks for (rad/s): v d / (L (1 + v^2 K / (g L))), d the
/// road-wheel angle in rad, K in rad per g. Source: VD-03.
double bicycle_yaw_rate(double v_mps, double road_wheel_rad, double wheelbase_m,
                        double understeer_gradient_rad);

}  // namespace stopledger
