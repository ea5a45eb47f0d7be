#pragma once

#include <string>
#include <string_view>

#include "procedure/procedure.h"

namespace stopledger {

/// A procedure as bytes that read back many times faster than its file: the build packs the
/// library, so that the program need not parse it at each start.
std::string pack(const Procedure& procedure);

/// The procedure of bytes made by `pack` in the same build. Requires: such bytes, whole.
Procedure unpack(std::string_view bytes);

}  // namespace stopledger
