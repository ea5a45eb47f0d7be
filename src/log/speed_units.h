#pragma once

#include "base/car.h"
#include "log/log.h"

namespace stopledger {

/// Speeds without a unit: taken from their fellows, else by comparison with a speed that has one,
/// else left open and said so.
void settle_speed_units(Log& log, const CarFacts& car);

}  // namespace stopledger
