#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "procedure/library.h"

namespace stopledger {

/// Version of the procedure format (procedures/FORMAT.md); a file of another version is refused.
inline constexpr int procedure_format = 1;

/// Reads one procedure. Strict: a key that the format does not know is an error, so that a
/// misspelt one is not lost.
///
/// `file` is named in messages and kept in Procedure::file.
/// Errors: input, with file, line and key.
Procedure read_procedure(std::string_view text, const std::string& file);

/// Reads the caution list (procedures/cautions.toml): C1, C2, ... in order without a gap.
std::vector<Caution> read_cautions(std::string_view text, const std::string& file);

}  // namespace stopledger
