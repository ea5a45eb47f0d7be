#pragma once

#include "verify/prepared_log.h"

namespace stopledger {

/// Whether the car turned so much while it was braked, or in the moments before, that it may have
/// slid sideways or spun: then the wheels tell neither its speed nor their slip.
///
/// By the yaw rate where it is logged (`criteria.slide_rad_s`), else by both axles' left and right
/// wheels, which differ by track x yaw rate / speed while they roll before the braking, unless the
/// car has rolled straight since (`criteria.straight_s`).
bool turned(const PreparedLog& run, double brake_from_s, double brake_to_s);

}  // namespace stopledger
