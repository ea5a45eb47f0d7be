#pragma once

#include <optional>
#include <string>
#include <vector>

#include "verify/evidence.h"
#include "verify/outcome.h"

// Findings about wheels that spun, clearly and for long enough (criteria.clear_spin_s).
namespace stopledger {

/// That nothing answered the longest clear spin, where the log would have shown it.
std::optional<Finding> spin_unanswered(const std::vector<JudgedStretch>& stretches);

/// What to record so that torque and brake side of a spin can be seen; "" where both were.
std::string spin_unseen(const std::vector<JudgedStretch>& stretches);

}  // namespace stopledger
