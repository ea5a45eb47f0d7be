#pragma once

#include "base/corner.h"
#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// Chance that this log would have shown a command at this corner during this stretch.
/// `rate_hz`: cycles a second, with short closings, that are taken as sure instead of the usual
/// ones; 0 keeps those.
double chance_of_seeing(const PreparedLog& run, Corner corner, const Stretch& stretch,
                        double rate_hz = 0.0);

}  // namespace stopledger
