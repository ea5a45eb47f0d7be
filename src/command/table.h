#pragma once

#include <span>

#include "command/context.h"

namespace stopledger {

/// All subcommands in the order of --help.
std::span<const AddCommand> command_table();

}  // namespace stopledger
