#pragma once

#include <vector>

#include "verify/evidence.h"
#include "verify/outcome.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// What the pump channel shows over all runs.
///
/// A command counts in braking, in traction and stability control, and as a pump run of its own;
/// the drive-off self-test never does. The dip of the supply voltage is the motor's answer: with
/// one the pump is exercised, without a supply channel commanded. A pump run at rest whose supply
/// was watched and stayed level is suspect, and so is a pump that stayed off through releases.
PumpOutcome judge_pump(const std::vector<PreparedLog>& runs,
                       const std::vector<JudgedStretch>& stretches);

}  // namespace stopledger
