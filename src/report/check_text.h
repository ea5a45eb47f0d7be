#pragma once

#include <span>
#include <string>

#include "log/log.h"
#include "record/history.h"
#include "verify/outcome.h"

namespace stopledger {

/// The check for a person: the answer, then each corner with its reason, findings, what to record
/// next, and last the episodes and what the log consisted of.
///
/// `past`: what the ledger knows of the corners that did not answer.
std::string check_text(const CheckOutcome& outcome, std::span<const Log> logs,
                       std::span<const PastAnswer> past = {});

}  // namespace stopledger
