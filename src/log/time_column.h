#pragma once

#include <string>
#include <vector>

#include "log/head.h"
#include "log/layout.h"

namespace stopledger {

/// Finds the time column (and a date column beside it, and a time column before every value) and
/// what its numbers count; what is decided by values is said in the notes of `layout`.
///
/// Errors: Error(input) when no column is a time.
void choose_time(Layout& layout, const std::vector<HeadRow>& rows, const std::string& name);

}  // namespace stopledger
