#pragma once

#include <string>
#include <vector>

#include "log/log.h"

namespace stopledger {

/// "A", "B", "C" and 9 more; names of columns for a sentence.
std::string name_columns(const std::vector<std::string>& columns);

/// Puts the questions of `log` into its notes: one sentence for all columns of one question, with
/// how to answer it.
void note_questions(Log& log);

}  // namespace stopledger
