#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace stopledger {

/// How numbers are written in one file.
struct NumberStyle {
  char decimal = '.';
  char delimiter = ',';  ///< the cell delimiter: never a thousands separator
};

/// Text without blanks, NUL bytes and quotes at its ends.
std::string_view trim(std::string_view text);

/// True for an empty cell and the usual words for "nothing here" ("N/A", "--", "null", "nan").
bool is_missing(std::string_view cell);

/// A number at the start of `cell` and what follows it.
struct NumberCell {
  double value = 0.0;
  std::string_view rest;  ///< trimmed text after the number: "" or a unit as in "48 km/h"
};

/// Reads a number with the given decimal mark; thousands separators (space, apostrophe, the other
/// mark) are accepted where they group digits by three. Nothing when there is none or when the
/// value is not finite.
std::optional<NumberCell> parse_number(std::string_view cell, const NumberStyle& style);

/// Meaning of a state word, before it is known what the state belongs to.
enum class StateWord {
  off,
  on,
  closed,  ///< of the flow (valve) or the contact (switch)
  open,
  apply,
  hold,
  release  ///< pressure down at a valve; pedal up at a switch
};

/// "On", "inactive", "Closed", "hold", ... in any letter case; nothing for other text.
std::optional<StateWord> parse_state_word(std::string_view cell);

}  // namespace stopledger
