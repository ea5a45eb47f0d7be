#pragma once

#include "command/context.h"

namespace stopledger {

// One line per subcommand; the definition is in src/command/NAME.cpp.

}  // namespace stopledger
