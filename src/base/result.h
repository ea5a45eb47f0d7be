#pragma once

#include <optional>
#include <string_view>

namespace stopledger {

/// What a corner, a circuit valve or the pump can come out as; spelled so in text, JSON and HTML.
enum class Result {
  exercised,  ///< the valves were worked and the wheel answered
  commanded,  ///< the valves were commanded; nothing in the log can show the wheel's answer
  suspect,    ///< the valves were commanded and the wheel did not answer as it should
  idle,       ///< the log would have shown it, and it did not happen
  unseen      ///< the log cannot tell
};

std::string_view result_name(Result result);
std::optional<Result> parse_result(std::string_view text);

/// The worse of two, in the order suspect, idle, unseen, commanded, exercised.
Result worse(Result a, Result b);

}  // namespace stopledger
