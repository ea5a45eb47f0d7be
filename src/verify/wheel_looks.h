#pragma once

#include <vector>

#include "verify/prepared_log.h"

namespace stopledger {

/// One look at a wheel's slip.
struct SlipLook {
  double t, slip, sigma;
  double change_sigma;  ///< of the difference of two looks close in time
};

/// The wheel's slips within [from, to], where they can be judged.
std::vector<SlipLook> looks_between(const PreparedLog& run, const WheelView& wheel, double from,
                                    double to);

}  // namespace stopledger
