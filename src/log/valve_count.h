#pragma once

#include "log/gather.h"
#include "log/layout.h"
#include "log/role.h"

namespace stopledger {

/// True when an inlet or outlet column counts its openings instead of showing its state: whole
/// numbers that only rise, save where the count starts anew, named as a count or too many to be
/// states.
bool counts_switchings(const Column& column, const Track& track, QuantityKind quantity);

/// Whether the valve was switched since the sample before: on where the count has changed. What
/// switched twice between two samples shows once.
std::vector<double> switched_since(const std::vector<double>& counts);

}  // namespace stopledger
