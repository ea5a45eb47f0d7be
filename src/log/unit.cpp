#include "log/unit.h"

#include <array>
#include <numbers>

#include "base/quantity.h"

namespace stopledger {
namespace {

struct UnitRow {
  std::string_view spelling;  // folded: lower case, no spaces
  Unit unit;
};

using D = UnitDimension;
constexpr double pi = std::numbers::pi;
constexpr double mile_m = 1609.344;  // international mile, exact
constexpr double foot_m = 0.3048;    // exact
constexpr double psi_kpa = 6.894757;

constexpr UnitRow unit_rows[] = {
    {"s", {D::time, 1.0}},
    {"sec", {D::time, 1.0}},
    {"secs", {D::time, 1.0}},
    {"second", {D::time, 1.0}},
    {"seconds", {D::time, 1.0}},
    {"sek", {D::time, 1.0}},
    {"ms", {D::time, 1e-3}},
    {"msec", {D::time, 1e-3}},
    {"msecs", {D::time, 1e-3}},
    {"millis", {D::time, 1e-3}},
    {"millisec", {D::time, 1e-3}},
    {"milliseconds", {D::time, 1e-3}},
    {"us", {D::time, 1e-6}},
    {"usec", {D::time, 1e-6}},
    {"micros", {D::time, 1e-6}},
    {"microseconds", {D::time, 1e-6}},
    {"ns", {D::time, 1e-9}},
    {"min", {D::time, 60.0}},
    {"minutes", {D::time, 60.0}},
    {"h", {D::time, 3600.0}},
    {"hours", {D::time, 3600.0}},
    {"km/h", {D::speed, 1.0 / 3.6}},
    {"kmh", {D::speed, 1.0 / 3.6}},
    {"km_h", {D::speed, 1.0 / 3.6}},
    {"km/hr", {D::speed, 1.0 / 3.6}},
    {"kmph", {D::speed, 1.0 / 3.6}},
    {"kph", {D::speed, 1.0 / 3.6}},
    {"kmh-1", {D::speed, 1.0 / 3.6}},
    {"km/u", {D::speed, 1.0 / 3.6}},
    {"mph", {D::speed, mile_m / 3600.0}},
    {"mi/h", {D::speed, mile_m / 3600.0}},
    {"miles/h", {D::speed, mile_m / 3600.0}},
    {"miles/hour", {D::speed, mile_m / 3600.0}},
    {"m/s", {D::speed, 1.0}},
    {"mps", {D::speed, 1.0}},
    {"m/sec", {D::speed, 1.0}},
    {"ms-1", {D::speed, 1.0}},
    {"m_s", {D::speed, 1.0}},
    {"cm/s", {D::speed, 0.01}},
    {"mm/s", {D::speed, 0.001}},
    {"ft/s", {D::speed, foot_m}},
    {"fps", {D::speed, foot_m}},
    {"kn", {D::speed, 1852.0 / 3600.0}},
    {"kt", {D::speed, 1852.0 / 3600.0}},
    {"kts", {D::speed, 1852.0 / 3600.0}},
    {"knot", {D::speed, 1852.0 / 3600.0}},
    {"knots", {D::speed, 1852.0 / 3600.0}},
    {"rad/s", {D::angular_rate, 1.0}},
    {"rad/sec", {D::angular_rate, 1.0}},
    {"rads-1", {D::angular_rate, 1.0}},
    {"rad_s", {D::angular_rate, 1.0}},
    {"rpm", {D::angular_rate, pi / 30.0}},
    {"r/min", {D::angular_rate, pi / 30.0}},
    {"rev/min", {D::angular_rate, pi / 30.0}},
    {"1/min", {D::angular_rate, pi / 30.0}},
    {"min-1", {D::angular_rate, pi / 30.0}},
    {"u/min", {D::angular_rate, pi / 30.0}},
    {"tr/min", {D::angular_rate, pi / 30.0}},
    {"rps", {D::angular_rate, 2.0 * pi}},
    {"rev/s", {D::angular_rate, 2.0 * pi}},
    {"deg/s", {D::angular_rate, pi / 180.0}},
    {"degs", {D::angular_rate, pi / 180.0}},
    {"deg/sec", {D::angular_rate, pi / 180.0}},
    {"degree/s", {D::angular_rate, pi / 180.0}},
    {"degrees/s", {D::angular_rate, pi / 180.0}},
    {"degrees/sec", {D::angular_rate, pi / 180.0}},
    {"dps", {D::angular_rate, pi / 180.0}},
    {"deg_s", {D::angular_rate, pi / 180.0}},
    {"grad/s", {D::angular_rate, pi / 180.0}},
    {"gradi/s", {D::angular_rate, pi / 180.0}},
    {"grados/s", {D::angular_rate, pi / 180.0}},
    {"graden/s", {D::angular_rate, pi / 180.0}},
    {"grader/s", {D::angular_rate, pi / 180.0}},
    {"degre/s", {D::angular_rate, pi / 180.0}},
    {"degres/s", {D::angular_rate, pi / 180.0}},
    {"d/s", {D::angular_rate, pi / 180.0}},
    {"giri/min", {D::angular_rate, pi / 30.0}},
    {"omw/min", {D::angular_rate, pi / 30.0}},
    {"rad", {D::angle, 1.0}},
    {"mrad", {D::angle, 1e-3}},
    {"deg", {D::angle, pi / 180.0}},
    {"degree", {D::angle, pi / 180.0}},
    {"degrees", {D::angle, pi / 180.0}},
    {"grad", {D::angle, pi / 180.0}},
    {"gradi", {D::angle, pi / 180.0}},
    {"grados", {D::angle, pi / 180.0}},
    {"graden", {D::angle, pi / 180.0}},
    {"grader", {D::angle, pi / 180.0}},
    {"degre", {D::angle, pi / 180.0}},
    {"degres", {D::angle, pi / 180.0}},
    {"degcrk", {D::angle, pi / 180.0}},
    {"degbtdc", {D::angle, pi / 180.0}},
    {"degca", {D::angle, pi / 180.0}},
    {"g", {D::acceleration, gravity_mps2}},
    {"gee", {D::acceleration, gravity_mps2}},
    {"mg", {D::acceleration, gravity_mps2 * 1e-3}},
    {"m/s2", {D::acceleration, 1.0}},
    {"m/s^2", {D::acceleration, 1.0}},
    {"m/ss", {D::acceleration, 1.0}},
    {"m/s/s", {D::acceleration, 1.0}},
    {"m/sec2", {D::acceleration, 1.0}},
    {"m/sec^2", {D::acceleration, 1.0}},
    {"ms2", {D::acceleration, 1.0}},
    {"ms-2", {D::acceleration, 1.0}},
    {"mps2", {D::acceleration, 1.0}},
    {"m_s2", {D::acceleration, 1.0}},
    {"ft/s2", {D::acceleration, foot_m}},
    {"bar", {D::pressure, 100.0}},
    {"mbar", {D::pressure, 0.1}},
    {"hpa", {D::pressure, 0.1}},
    {"kpa", {D::pressure, 1.0}},
    {"pa", {D::pressure, 1e-3}},
    {"psi", {D::pressure, psi_kpa}},
    {"psig", {D::pressure, psi_kpa}},
    {"kg/cm2", {D::pressure, 98.0665}},
    {"kgf/cm2", {D::pressure, 98.0665}},
    {"v", {D::voltage, 1.0}},
    {"volt", {D::voltage, 1.0}},
    {"volts", {D::voltage, 1.0}},
    {"vdc", {D::voltage, 1.0}},
    {"mv", {D::voltage, 1e-3}},
    {"a", {D::current, 1.0}},
    {"amp", {D::current, 1.0}},
    {"amps", {D::current, 1.0}},
    {"ampere", {D::current, 1.0}},
    {"ma", {D::current, 1e-3}},
    {"%", {D::share, 0.01}},
    {"pct", {D::share, 0.01}},
    {"percent", {D::share, 0.01}},
    {"prozent", {D::share, 0.01}},
    {"degc", {D::temperature, 1.0}},
    {"celsius", {D::temperature, 1.0}},
    {"c", {D::temperature, 1.0}},
    {"degf", {D::temperature, 5.0 / 9.0, -160.0 / 9.0}},
    {"fahrenheit", {D::temperature, 5.0 / 9.0, -160.0 / 9.0}},
    {"k", {D::temperature, 1.0, -273.15}},
    {"m", {D::length, 1.0}},
    {"mm", {D::length, 1e-3}},
    {"cm", {D::length, 1e-2}},
    {"km", {D::length, 1e3}},
    {"mi", {D::length, mile_m}},
    {"mile", {D::length, mile_m}},
    {"miles", {D::length, mile_m}},
    {"ft", {D::length, foot_m}},
    {"in", {D::length, 0.0254}},
    {"hz", {D::frequency, 1.0}},
    {"1/s", {D::frequency, 1.0}},
    {"khz", {D::frequency, 1e3}},
    {"nm", {D::torque, 1.0}},
    {"n-m", {D::torque, 1.0}},
    {"n*m", {D::torque, 1.0}},
    {"lbft", {D::torque, 1.355818}},
    {"lb-ft", {D::torque, 1.355818}},
    {"ft-lb", {D::torque, 1.355818}},
    {"pulses", {D::count, 1.0}},
    {"pulse", {D::count, 1.0}},
    {"counts", {D::count, 1.0}},
    {"ticks", {D::count, 1.0}},
    {"edges", {D::count, 1.0}},
    {"g/s", {D::other, 1.0}},
    {"lb/min", {D::other, 1.0}},
    {"l/h", {D::other, 1.0}},
    {"kg/h", {D::other, 1.0}},
};

/// Replacements for characters outside ASCII; the longest sequences come first.
constexpr std::array<std::pair<std::string_view, std::string_view>, 78> folds{{
    {"\xC3\x82\xC2\xB0", "deg"},  // degree sign, encoded twice
    {"\xC3\x82\xC2\xB2", "2"},
    {"\xC3\x82\xC2\xB5", "u"},
    {"\xEF\xBB\xBF", ""},
    {"\xE2\x80\x8B", ""},
    {"\xE2\x88\x92", "-"},
    {"\xE2\x80\x93", "-"},
    {"\xE2\x80\x94", "-"},
    {"\xE2\x80\xAF", " "},
    {"\xE2\x80\x89", " "},
    {"\xE2\x81\xBB\xC2\xB9", "-1"},
    {"\xE2\x81\xBB\xC2\xB2", "-2"},
    {"\xE2\x84\x83", "degc"},
    {"\xE2\x84\x89", "degf"},
    {"\xE2\x8B\x85", "*"},
    {"\xC2\xB0", "deg"},
    {"\xC2\xBA", "deg"},
    {"\xC2\xB2", "2"},
    {"\xC2\xB3", "3"},
    {"\xC2\xB9", "1"},
    {"\xC2\xB5", "u"},
    {"\xCE\xBC", "u"},
    {"\xC2\xB7", "*"},
    {"\xC2\xA0", " "},
    {"\xCE\xA9", "ohm"},
    {"\xCF\x89", "omega"},
    {"\xC3\xA4", "a"},
    {"\xC3\x84", "a"},
    {"\xC3\xB6", "o"},
    {"\xC3\x96", "o"},
    {"\xC3\xBC", "u"},
    {"\xC3\x9C", "u"},
    {"\xC3\x9F", "ss"},
    {"\xC3\xA0", "a"},
    {"\xC3\xA1", "a"},
    {"\xC3\xA2", "a"},
    {"\xC3\xA3", "a"},
    {"\xC3\xA5", "a"},
    {"\xC3\x85", "a"},
    {"\xC3\xA6", "ae"},
    {"\xC3\xA7", "c"},
    {"\xC3\xA8", "e"},
    {"\xC3\xA9", "e"},
    {"\xC3\xAA", "e"},
    {"\xC3\xAB", "e"},
    {"\xC3\x88", "e"},
    {"\xC3\x89", "e"},
    {"\xC3\x8A", "e"},
    {"\xC3\xAC", "i"},
    {"\xC3\xAD", "i"},
    {"\xC3\xAE", "i"},
    {"\xC3\xAF", "i"},
    {"\xC3\xB1", "n"},
    {"\xC3\xB2", "o"},
    {"\xC3\xB3", "o"},
    {"\xC3\xB4", "o"},
    {"\xC3\xB5", "o"},
    {"\xC3\xB8", "o"},
    {"\xC3\xB9", "u"},
    {"\xC3\xBA", "u"},
    {"\xC3\xBB", "u"},
    {"\xC4\x85", "a"},
    {"\xC4\x87", "c"},
    {"\xC4\x8D", "c"},
    {"\xC4\x99", "e"},
    {"\xC4\x9B", "e"},
    {"\xC5\x82", "l"},
    {"\xC5\x84", "n"},
    {"\xC5\x99", "r"},
    {"\xC5\x9B", "s"},
    {"\xC5\xA1", "s"},
    {"\xC5\xBA", "z"},
    {"\xC5\xBC", "z"},
    {"\xC5\xBE", "z"},
    {"\xC3\x80", "a"},
    {"\xC3\x81", "a"},
    {"\xC3\x93", "o"},
    {"\xC3\x94", "o"},
}};

}  // namespace

std::string fold_text(std::string_view utf8) {
  std::string out;
  out.reserve(utf8.size());
  for (std::size_t i = 0; i < utf8.size();) {
    const auto c = static_cast<unsigned char>(utf8[i]);
    if (c < 0x80) {
      out += static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
      ++i;
      continue;
    }
    bool found = false;
    for (const auto& [from, to] : folds)
      if (utf8.substr(i, from.size()) == from) {
        out += to;
        i += from.size();
        found = true;
        break;
      }
    if (!found) out += utf8[i++];
  }
  return out;
}

std::optional<Unit> parse_unit(std::string_view text) {
  // Case decides between milli and mega for these two only.
  if (text == "MPa") return Unit{D::pressure, 1000.0};
  if (text == "mPa") return Unit{D::pressure, 1e-6};
  std::string folded;
  for (const char c : fold_text(text))
    if (c != ' ' && c != '\t') folded += c;
  if (folded == "mpa") return Unit{D::pressure, 1000.0};
  for (const auto& row : unit_rows)
    if (row.spelling == folded) return row.unit;
  return std::nullopt;
}

}  // namespace stopledger
