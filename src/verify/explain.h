#pragma once

#include "verify/evidence.h"
#include "verify/outcome.h"

namespace stopledger {

/// The corner's outcome from its evidence: result, reason, figures.
CornerOutcome judge_corner(Corner corner, const CornerEvidence& evidence);

}  // namespace stopledger
