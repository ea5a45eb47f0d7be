#pragma once

#include "verify/episodes.h"

namespace stopledger {

/// Where the car slowed harder than engine and hills do: stops and braking, by the reference speed.
std::vector<Stretch> braking_stretches(const PreparedLog& run, const PerCorner<Commands>& commands);

}  // namespace stopledger
