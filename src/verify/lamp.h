#pragma once

#include <optional>

#include "verify/prepared_log.h"

namespace stopledger {

/// Longest time for which an ABS or stability lamp stayed lit while the car was faster than
/// `criteria.lamp_kmh`, when it is too long for a lamp that flashes or is being tested.
///
/// Unit: s; nothing without such a channel or without a speed.
std::optional<double> lamp_lit_driving_s(const PreparedLog& run);

}  // namespace stopledger
