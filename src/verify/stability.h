#pragma once

#include "base/car.h"
#include "verify/commands.h"
#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// What one episode of stability braking was about: the driver's wish by the bicycle model, with
/// the lag of a car and limited by friction (by the lateral acceleration seen about that time, else
/// by the best road), against the measured yaw rate; the wheels braked, and
/// the usual one (outside front against oversteer, inside rear against understeer); how the yaw
/// rate died away. The tendency is what prevailed while the unit was at work.
/// Source: VD-03, VD-06, VD-10, EC-05, EC-06, EC-16 in tests/SOURCES.md.
StabilityOutcome judge_stability(const PreparedLog& run, const PerCorner<Commands>& commands,
                                 const CarFacts& car, const Episode& episode);

/// Steady yaw rate that the steering asks for (rad/s): v d / (L (1 + v^2 K / (g L))), d the
/// road-wheel angle in rad, K in rad per g. Source: VD-03.
double bicycle_yaw_rate(double v_mps, double road_wheel_rad, double wheelbase_m,
                        double understeer_gradient_rad);

}  // namespace stopledger
