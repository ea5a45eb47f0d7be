#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "record/record.h"

namespace stopledger {

/// What a number in a record measures; each has one base unit that values are normalised to.
enum class Dimension {
  none,         ///< a bare number
  count,        ///< a whole number
  volume,       ///< mL
  pressure,     ///< kPa
  temperature,  ///< degC
  distance,     ///< km
  length,       ///< mm
  duration,     ///< s
  voltage,      ///< V
  percent,      ///< %
  ppm,          ///< ppm
  speed,        ///< km/h
  force,        ///< N
  torque,       ///< N m
  mass,         ///< kg
  resistance    ///< ohm
};

/// "mL", "kPa", ...; "" for bare numbers.
std::string_view base_unit(Dimension dimension);

/// The units people may write, for messages: "mL, L, qt, fl oz".
std::string units_of(Dimension dimension);

/// Reads "1.2 qt", "180mL", "12,4 V", "100 degF" into the dimension's base unit.
///
/// The decimal sign is a point or a comma. A comma before exactly three last digits ("45,210")
/// could mean either and is not taken. A space may group digits ("45 210 km").
/// `default_unit` is used when no unit is written; empty: the unit must be written (except for
/// bare numbers, counts, and dimensions with a single unit).
///
/// Throws Error(usage) that says what is wrong and names the units.
/// Source: US customary and imperial measures, NIST Handbook 44 appendix C, from memory.
double parse_measure(std::string_view text, Dimension dimension,
                     std::string_view default_unit = {});

/// A number for people: at most `decimals` decimals, no trailing zeros.
std::string plain_number(double value, int decimals = 3);

}  // namespace stopledger
