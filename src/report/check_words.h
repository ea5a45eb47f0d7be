#pragma once

#include <string>
#include <string_view>

#include "verify/outcome.h"

namespace stopledger {

/// The answer of a check in one line, and the warning that goes with it (empty without one).
struct CheckAnswer {
  std::string answer, warning;
};
CheckAnswer check_answer(const CheckOutcome& outcome);

/// The figures of one corner, known ones only: "3.9 cycles/s, answer after 0.15 s, ...".
std::string corner_figures(const CornerOutcome& corner);

/// The figures of one episode, known ones only, with a comma before each: ", 42 to 0 km/h, ...".
std::string episode_figures(const Episode& episode);

/// Why length or MFDD is not stated, as the JSON document spells it: "slow-looks", ...; "" for
/// none.
std::string_view unmeasured_name(StopDoubt doubt);

/// What stands under every check.
inline constexpr std::string_view manual_decides =
    "The car's own service manual decides; where it differs from this program, it wins. Exercise "
    "on a closed lot with permission, never on a public road.";

}  // namespace stopledger
