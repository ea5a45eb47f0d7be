#pragma once

#include <span>
#include <string>
#include <vector>

#include "procedure/procedure.h"

namespace stopledger {

/// Something in a set of procedures that does not hold together.
struct LintFinding {
  std::string file, procedure;
  bool error = true;  ///< false: worth knowing, nothing fails by it
  std::string text;
};

/// Checks what one file alone can't know: that every id, record kind, field, role and caution named
/// exists, that hard prerequisites have no circle, that each procedure is reachable (by its
/// interval, as a session, around storage, or because another one asks for it), and that what is
/// driven or opened carries its cautions and gates.
///
/// `library`: the procedures that come with the program; a person's own file that stands in place
/// of one of them and leaves out a caution is told so.
std::vector<LintFinding> lint(std::span<const Procedure> procedures,
                              std::span<const Procedure> library);

}  // namespace stopledger
