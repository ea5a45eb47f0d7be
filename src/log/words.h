#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/car.h"
#include "log/role.h"
#include "log/unit.h"

namespace stopledger {

/// What the wording of one column header says.
struct Wording {
  std::optional<Role> role;
  std::string matched;   ///< the words that decided it, for the reader
  int rank = 0;          ///< of two columns with one role the higher rank is the better claim
  std::string question;  ///< why there is no role although the words come close; "" otherwise
  std::optional<Role> suggestion;  ///< the likeliest answer to the question
  std::string remark;      ///< what the reading rests on besides the header's own words; or ""
  bool says_time = false;  ///< the words are those of a time stamp
  bool says_date = false;
  bool valve_unspecified = false;  ///< a wheel's valve, but not which: its values must decide
  bool place_only = false;         ///< a wheel is named and nothing else: unit and values decide
  bool says_position = false;      ///< a position on the earth
  bool says_g = false;             ///< "G" is in the name: accelerations are in g
  bool pulses = false;             ///< the words speak of pulses or counts
  bool isolation_word = false;  ///< "isolation" at a wheel: an inlet only if three or four are so
};

/// True when a quantity can be written in a unit of that dimension.
bool unit_fits(QuantityKind quantity, UnitDimension dimension);

/// Words of a header: lower case, split at punctuation, letter case and digits.
/// "whlSpdFL_2 (km/h)" gives whl, spd, fl, 2, km, h.
std::vector<std::string> split_words(std::string_view header);

/// Role of every header by its words; `headers` without units, `units` beside them.
///
/// All headers are looked at together: initials of a language other than English count only when
/// several columns use them and no two readings fit, and "isolation" is decided by how many there
/// are. Driver and passenger side need the steering side of `car`.
/// Source: trade reference on units and valves; the words themselves are common practice.
std::vector<Wording> recognise_words(const std::vector<std::string>& headers,
                                     const std::vector<std::optional<Unit>>& units,
                                     const CarFacts& car);

}  // namespace stopledger
