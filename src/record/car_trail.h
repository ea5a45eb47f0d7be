#pragma once

#include <string>

#include "record/ledger.h"

namespace stopledger {

/// Since when a car is in its present state (active, retired, sold), and the reason given then.
struct CarStateSince {
  CarState state = CarState::active;
  Day since{};  ///< the day that was given with it, else that of the entry, UTC
  std::string reason;
};

/// Error(usage) when there is no such car.
CarStateSince car_state_since(const Ledger& ledger, const std::string& car);

}  // namespace stopledger
