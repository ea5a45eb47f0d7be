#pragma once

#include <span>
#include <string>

#include "log/log.h"
#include "record/history.h"
#include "verify/outcome.h"

namespace stopledger {

/// One self-contained page (no scripts, nothing from outside): the answer, a table of the corners,
/// findings, what the ledger knows of corners that did not answer, and a drawing of each episode.
/// Told apart by words and line style, not by colour.
std::string check_html(const CheckOutcome& outcome, std::span<const Log> logs,
                       std::span<const PastAnswer> past);

}  // namespace stopledger
