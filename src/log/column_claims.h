#pragma once

#include <string>

#include "log/layout.h"

namespace stopledger {

/// Two columns for one role: the better claim wins where no wheel is at stake, else an error; what
/// is only vaguely named is asked about.
///
/// `first_wins`: the first column is kept instead of the error.
/// Errors: Error(input) naming both columns.
void settle_claims(Layout& layout, const std::string& name, bool first_wins);

}  // namespace stopledger
