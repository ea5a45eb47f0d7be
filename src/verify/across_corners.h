#pragma once

#include "verify/evidence.h"

namespace stopledger {

/// What the corners of one stretch tell of each other: a wheel that rolled free while its side's
/// other wheel cycled on, ground on which no wheel came back, a front wheel that is not braked.
///
/// Requires: each corner's own evidence is collected. `anti_lock`: the stretch is plain braking.
void compare_corners(JudgedStretch& judged, bool anti_lock);

}  // namespace stopledger
