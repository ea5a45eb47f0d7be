#pragma once

#include <array>

#include "record/kinds.h"

/// What the tables of fields of the record kinds are written with; used by them only.
namespace stopledger::kind_fields {

using D = Dimension;

inline constexpr Field text(std::string_view name, std::string_view help = {}) {
  return {.name = name, .help = help};
}
inline constexpr Field flag(std::string_view name, std::string_view help = {}) {
  return {.name = name, .type = FieldType::flag, .help = help};
}
inline constexpr Field reference(std::string_view name, std::string_view help = {}) {
  return {.name = name, .type = FieldType::reference, .help = help};
}
inline constexpr Field choice(std::string_view name, std::string_view choices,
                              std::string_view help = {}) {
  return {.name = name, .type = FieldType::choice, .choices = choices, .help = help};
}
inline constexpr Field number(std::string_view name, Dimension dimension, double low, double high,
                              std::string_view help = {}) {
  return {.name = name,
          .type = FieldType::number,
          .dimension = dimension,
          .low = low,
          .high = high,
          .help = help};
}
inline constexpr Field needed(Field field) {
  field.required = 1;
  return field;
}
inline constexpr Field one_needed(Field field) {
  field.required = 2;
  return field;
}
inline constexpr Field each_corner(Field field) {
  field.per_corner = true;
  return field;
}

inline constexpr std::string_view pass_fail = "pass|fail";
inline constexpr std::string_view results = "exercised|commanded|suspect|idle|unseen";
inline constexpr std::string_view grades = "DOT 3|DOT 4|DOT 5|DOT 5.1|other";
inline constexpr std::string_view corners = "FL|FR|RL|RR";
inline constexpr Field passed = needed(choice("result", pass_fail));

}  // namespace stopledger::kind_fields
