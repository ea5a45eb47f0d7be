#pragma once

#include "base/car.h"
#include "verify/commands.h"
#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// Fills the stability and traction parts of an episode of that kind; leaves others alone.
void judge_control_episode(const PreparedLog& run, const PerCorner<Commands>& commands,
                           const CarFacts& car, Stretch& stretch);

/// What one spin of the driven wheels was about: which wheels, how long and how high; whether the
/// torque was cut (throttle or ignition timing pulled back while the pedal was held) and which
/// wheels the unit braked; whether anything answered.
///
/// `torque_cut` is empty where neither throttle with pedal nor timing is logged. `answered` is
/// true when torque, brake, a circuit valve or the control's own flag says so; false when what is
/// logged would have shown an answer, on the torque's side and on the brake's; else empty.
TractionOutcome judge_traction(const PreparedLog& run, const PerCorner<Commands>& commands,
                               const CarFacts& car, const Episode& episode);

}  // namespace stopledger
