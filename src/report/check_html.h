#pragma once

#include <span>
#include <string>

#include "log/log.h"
#include "verify/outcome.h"

namespace stopledger {

/// One self-contained page (no scripts, nothing from outside): the answer, a table of the corners,
/// findings, and a drawing of each episode. Told apart by words and line style, not by colour.
std::string check_html(const CheckOutcome& outcome, std::span<const Log> logs);

}  // namespace stopledger
