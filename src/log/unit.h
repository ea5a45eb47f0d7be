#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace stopledger {

/// What a unit measures.
enum class UnitDimension {
  time,
  speed,
  angular_rate,
  angle,
  acceleration,
  pressure,
  voltage,
  current,
  share,
  temperature,
  length,
  frequency,
  torque,
  count,
  other
};

/// One unit of measure: SI value = `factor` * written value + `offset`; pressure in kPa, share 0-1.
struct Unit {
  UnitDimension dimension = UnitDimension::other;
  double factor = 1.0;
  double offset = 0.0;
};

/// The unit spelled so ("km/h", "kph", "m/s^2", "°/s", "psi", "%", ...); nothing when unknown.
/// Letter case matters only where it must ("MPa", "mV").
std::optional<Unit> parse_unit(std::string_view text);

/// Lower-case text with accents folded to plain letters, the double-encoded degree sign repaired
/// and typographic marks (superscripts, dashes, no-break spaces) turned into plain ones.
std::string fold_text(std::string_view utf8);

}  // namespace stopledger
