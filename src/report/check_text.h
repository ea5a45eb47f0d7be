#pragma once

#include <span>
#include <string>

#include "log/log.h"
#include "verify/outcome.h"

namespace stopledger {

/// The check for a person: the answer, then each corner with its reason, findings, what to record
/// next, and last the episodes and what the log consisted of.
std::string check_text(const CheckOutcome& outcome, std::span<const Log> logs);

}  // namespace stopledger
