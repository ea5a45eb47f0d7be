#pragma once

#include <span>
#include <string>
#include <string_view>

#include "command/context.h"

namespace stopledger {

/// Writes a page, map or calendar that a person asked for: the whole file or none of it.
///
/// Refuses to write over a ledger (this one or any) and over one of the `inputs`.
/// Errors: Error(usage) for such a path; Error(file) when it cannot be written.
void write_output(const Context& context, const std::string& path, std::string_view text,
                  std::span<const std::string> inputs = {});

}  // namespace stopledger
