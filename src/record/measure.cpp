#include "record/measure.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>

#include "base/error.h"

namespace stopledger {

namespace {

struct Unit {
  Dimension dimension;
  std::string_view name;  ///< matched without regard to case and spaces
  double factor;          ///< base = (written + offset) * factor
  double offset = 0.0;
  bool listed = true;  ///< named in messages; other spellings are accepted silently
};

// The first unit of a dimension is its base unit. US quart 946.352946 mL, US fluid ounce
// 29.5735295625 mL, imperial quart 1136.5225 mL, imperial fluid ounce 28.4130625 mL, mile
// 1.609344 km, inch 25.4 mm, psi 6.894757293168 kPa, pound 0.45359237 kg.
constexpr std::array units{
    Unit{Dimension::volume, "mL", 1.0},
    Unit{Dimension::volume, "L", 1000.0},
    Unit{Dimension::volume, "qt", 946.352946},
    Unit{Dimension::volume, "fl oz", 29.5735295625},
    Unit{Dimension::volume, "imp qt", 1136.5225},
    Unit{Dimension::volume, "imp fl oz", 28.4130625},
    Unit{Dimension::volume, "pt", 473.176473, 0.0, false},
    Unit{Dimension::volume, "cc", 1.0, 0.0, false},
    Unit{Dimension::volume, "cm3", 1.0, 0.0, false},
    Unit{Dimension::volume, "litre", 1000.0, 0.0, false},
    Unit{Dimension::volume, "litres", 1000.0, 0.0, false},
    Unit{Dimension::volume, "liter", 1000.0, 0.0, false},
    Unit{Dimension::volume, "liters", 1000.0, 0.0, false},
    Unit{Dimension::pressure, "kPa", 1.0},
    Unit{Dimension::pressure, "bar", 100.0},
    Unit{Dimension::pressure, "psi", 6.894757293168},
    Unit{Dimension::pressure, "MPa", 1000.0},
    Unit{Dimension::temperature, "degC", 1.0},
    Unit{Dimension::temperature, "degF", 5.0 / 9.0, -32.0},
    Unit{Dimension::temperature, "C", 1.0, 0.0, false},
    Unit{Dimension::temperature, "F", 5.0 / 9.0, -32.0, false},
    Unit{Dimension::temperature,
         "\xC2\xB0"
         "C",
         1.0, 0.0, false},
    Unit{Dimension::temperature,
         "\xC2\xB0"
         "F",
         5.0 / 9.0, -32.0, false},
    Unit{Dimension::distance, "km", 1.0},
    Unit{Dimension::distance, "mi", 1.609344},
    Unit{Dimension::distance, "mile", 1.609344, 0.0, false},
    Unit{Dimension::distance, "miles", 1.609344, 0.0, false},
    Unit{Dimension::length, "mm", 1.0},
    Unit{Dimension::length, "cm", 10.0},
    Unit{Dimension::length, "m", 1000.0},
    Unit{Dimension::length, "in", 25.4},
    Unit{Dimension::length, "ft", 304.8},
    Unit{Dimension::length, "inch", 25.4, 0.0, false},
    Unit{Dimension::length, "\"", 25.4, 0.0, false},
    Unit{Dimension::duration, "s", 1.0},
    Unit{Dimension::duration, "ms", 0.001},
    Unit{Dimension::duration, "min", 60.0},
    Unit{Dimension::duration, "h", 3600.0},
    Unit{Dimension::duration, "sec", 1.0, 0.0, false},
    Unit{Dimension::voltage, "V", 1.0},
    Unit{Dimension::voltage, "mV", 0.001, 0.0, false},
    Unit{Dimension::percent, "%", 1.0},
    Unit{Dimension::percent, "pct", 1.0, 0.0, false},
    Unit{Dimension::ppm, "ppm", 1.0},
    Unit{Dimension::speed, "km/h", 1.0},
    Unit{Dimension::speed, "mph", 1.609344},
    Unit{Dimension::speed, "kmh", 1.0, 0.0, false},
    Unit{Dimension::speed, "kph", 1.0, 0.0, false},
    Unit{Dimension::force, "N", 1.0},
    Unit{Dimension::force, "kN", 1000.0},
    Unit{Dimension::force, "lbf", 4.4482216152605},
    Unit{Dimension::torque, "Nm", 1.0},
    Unit{Dimension::torque, "lbf ft", 1.3558179483314},
    Unit{Dimension::torque, "ft lb", 1.3558179483314, 0.0, false},
    Unit{Dimension::mass, "kg", 1.0},
    Unit{Dimension::mass, "g", 0.001},
    Unit{Dimension::mass, "lb", 0.45359237},
    Unit{Dimension::resistance, "ohm", 1.0},
    Unit{Dimension::resistance, "kohm", 1000.0},
    Unit{Dimension::resistance, "Mohm", 1.0e6},
};

std::string squeeze(std::string_view text) {
  std::string out;
  for (const char c : text)
    if (c != ' ' && c != '.') out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

const Unit* find_unit(Dimension dimension, std::string_view name) {
  // Letter case matters only between mV/MV and mohm/Mohm, which nobody writes here.
  const auto wanted = squeeze(name);
  for (const auto& unit : units)
    if (unit.dimension == dimension && squeeze(unit.name) == wanted) return &unit;
  return nullptr;
}

[[noreturn]] void refuse(std::string_view text, Dimension dimension, const std::string& why) {
  const auto names = units_of(dimension);
  throw Error(ErrorKind::usage,
              fmt::format("\"{}\" {}{}", text, why,
                          names.empty() ? "" : fmt::format("; units here: {}", names)));
}

}  // namespace

std::string_view base_unit(Dimension dimension) {
  for (const auto& unit : units)
    if (unit.dimension == dimension) return unit.name;
  return {};
}

std::string units_of(Dimension dimension) {
  std::string out;
  for (const auto& unit : units)
    if (unit.dimension == dimension && unit.listed)
      out += (out.empty() ? "" : ", ") + std::string(unit.name);
  return out;
}

double parse_measure(std::string_view text, Dimension dimension, std::string_view default_unit) {
  const bool bare = base_unit(dimension).empty();
  std::string digits;
  std::size_t at = 0;
  while (at < text.size() && text[at] == ' ') ++at;
  for (; at < text.size(); ++at) {
    const char c = text[at];
    const bool digit = std::isdigit(static_cast<unsigned char>(c)) != 0;
    if (digit || c == '.' || c == ',' || (digits.empty() && (c == '-' || c == '+'))) {
      if (c != '+') digits += c;
    } else if (c == ' ' && at + 1 < text.size() &&
               std::isdigit(static_cast<unsigned char>(text[at + 1])) != 0) {
      continue;  // digits grouped by spaces
    } else {
      break;
    }
  }
  std::string_view unit_text = text.substr(at);
  while (!unit_text.empty() && unit_text.front() == ' ') unit_text.remove_prefix(1);
  while (!unit_text.empty() && unit_text.back() == ' ') unit_text.remove_suffix(1);
  if (const auto comma = digits.find(','); comma != std::string::npos) {
    if (digits.find_first_of(".,", comma + 1) != std::string::npos ||
        digits.find('.') != std::string::npos || digits.size() - comma == 4)
      refuse(text, dimension,
             "can be read in two ways; write it without a thousands sign, such as 45210 or 1.25");
    digits[comma] = '.';
  }
  double value = 0.0;
  const auto [end, code] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (digits.empty() || code != std::errc{} || end != digits.data() + digits.size() ||
      !std::isfinite(value))
    refuse(text, dimension, "is not a number");
  if (bare) {
    if (!unit_text.empty()) refuse(text, dimension, "must be a number without a unit");
    if (dimension == Dimension::count && value != std::floor(value))
      refuse(text, dimension, "must be a whole number");
    return value;
  }
  if (unit_text.empty()) {
    const auto only = std::count_if(units.begin(), units.end(), [&](const Unit& unit) {
      return unit.dimension == dimension && unit.listed;
    });
    unit_text = default_unit.empty() && only == 1 ? base_unit(dimension) : default_unit;
    if (unit_text.empty()) refuse(text, dimension, "has no unit");
  }
  const Unit* unit = find_unit(dimension, unit_text);
  if (unit == nullptr)
    refuse(text, dimension, fmt::format("has an unknown unit \"{}\"", unit_text));
  return (value + unit->offset) * unit->factor;
}

std::string plain_number(double value, int decimals) {
  auto text = fmt::format("{:.{}f}", value, decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

}  // namespace stopledger
