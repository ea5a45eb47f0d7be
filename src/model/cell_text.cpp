#include "model/cell_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>

#include "base/quantity.h"
#include "model/packed.h"

namespace stopledger::model {
namespace {

constexpr double degrees = 180.0 / std::numbers::pi;
constexpr double kpa_per_psi = 6.894757;

std::string speed_text(double mps, bool wheel, const Recorder& recorder, const Car& car) {
  double shown = (mps < recorder.clip_mps ? 0.0 : mps) * 3.6;
  if (recorder.speed_unit == SpeedUnit::mph) shown *= 1000.0 / 1609.344;
  if (recorder.speed_unit == SpeedUnit::mps) shown /= 3.6;
  if (recorder.speed_unit == SpeedUnit::rpm && wheel)
    shown = shown / 3.6 / car.rolling_radius_m * 60.0 / (2.0 * std::numbers::pi);
  if (recorder.speed_unit == SpeedUnit::hz && wheel)
    shown = shown / 3.6 * recorder.ring_teeth / (2.0 * std::numbers::pi * car.rolling_radius_m);
  int decimals = 2;
  const double step = recorder.speed_step;
  if (step > 0.0) {
    shown = std::round(shown / step) * step;
    decimals = step >= 1.0 ? 0 : step >= 0.1 ? 1 : 3;
  }
  std::string text;
  append_number(text, shown, decimals, recorder);
  return text;
}

std::string state_text(QuantityKind quantity, double value, const Recorder& recorder) {
  using enum QuantityKind;
  if (quantity == valve) return value > 1.5 ? "2" : value > 0.5 ? "1" : "0";
  const bool duty =
      recorder.state_text == StateText::percent && (quantity == inlet || quantity == outlet);
  std::string text;
  if (duty) {
    append_number(text, value * 100.0, 0, recorder);
    return text;
  }
  if (value > 0.02 && value < 0.98 && quantity == inlet &&
      recorder.state_text == StateText::digits) {
    append_number(text, value, 2, recorder);  // part current: a duty
    return text;
  }
  const bool on = value > 0.5;
  switch (recorder.state_text) {
    case StateText::digits:
    case StateText::percent:
      return on ? "1" : "0";
    case StateText::active:
      return on ? "Active" : "Inactive";
    case StateText::open_closed:
      // The words of the valve's position: an energised inlet or isolation valve is closed.
      if (quantity == inlet || quantity == isolation) return on ? "Closed" : "Open";
      if (quantity == outlet || quantity == prime) return on ? "Open" : "Closed";
      break;
    case StateText::on_off:
      break;
  }
  return on ? "On" : "Off";
}

/// Day of the month, hour, minute, second and millisecond of a count from midnight of the 15th;
/// may be negative, where a clock was set back.
struct ClockParts {
  long day, hour, minute, second, ms;
};

ClockParts clock_parts(double seconds) {
  constexpr long day_ms = 86400000;
  const auto count = static_cast<long>(std::round(seconds * 1000.0));
  const long ms = (count % day_ms + day_ms) % day_ms;
  return {15 + (count - ms) / day_ms, ms / 3600000, ms / 60000 % 60, ms / 1000 % 60, ms % 1000};
}

/// UTF-16 of text in UTF-8 of the basic plane (all that an export of ours holds).
std::string utf16(const std::string& text, bool little) {
  std::string out;
  const auto put = [&](unsigned unit) {
    const char high = static_cast<char>(unit >> 8U), low = static_cast<char>(unit & 0xFFU);
    out += little ? low : high;
    out += little ? high : low;
  };
  put(0xFEFFU);
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto lead = static_cast<unsigned char>(text[i]);
    if (lead < 0x80U)
      put(lead);
    else
      put((lead & 0x1FU) << 6U | (static_cast<unsigned char>(text[++i]) & 0x3FU));
  }
  return out;
}

std::string latin1(const std::string& text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto lead = static_cast<unsigned char>(text[i]);
    if (lead < 0x80U)
      out += text[i];
    else
      out +=
          static_cast<char>((lead & 0x03U) << 6U | (static_cast<unsigned char>(text[++i]) & 0x3FU));
  }
  return out;
}

}  // namespace

void append_number(std::string& text, double value, int decimals, const Recorder& recorder) {
  const std::size_t from = text.size();
  fmt::format_to(std::back_inserter(text), "{:.{}f}", value, decimals);
  if (recorder.decimal_comma)
    std::replace(text.begin() + static_cast<std::ptrdiff_t>(from), text.end(), '.', ',');
}

std::string cell_text(const Role& role, double value, const Recorder& recorder, const Car& car) {
  if (is_packed(recorder, role)) return value > 0.5 ? "1" : "0";
  if (std::isnan(value)) return recorder.missing_text;
  if (is_state(role.quantity)) return state_text(role.quantity, value, recorder);
  std::string text;
  using enum QuantityKind;
  switch (role.quantity) {
    case wheel_speed:
    case vehicle_speed:
    case satellite_speed:
      return speed_text(value, role.quantity == wheel_speed, recorder, car);
    case wheel_pressure:
    case master_pressure:
      if (recorder.pressure_unit == PressureUnit::bar)
        append_number(text, value / 100.0, 1, recorder);
      if (recorder.pressure_unit == PressureUnit::kpa) append_number(text, value, 0, recorder);
      if (recorder.pressure_unit == PressureUnit::psi)
        append_number(text, value / kpa_per_psi, 0, recorder);
      return text;
    case yaw_rate:
    case steering_angle:
      append_number(text, value * degrees, 1, recorder);
      return text;
    case accel_long:
    case accel_lat:
      if (recorder.acceleration_in_g)
        append_number(text, value / gravity_mps2, 3, recorder);
      else
        append_number(text, value, 2, recorder);
      return text;
    case throttle:
    case accelerator:
      append_number(text, value * 100.0, 1, recorder);
      return text;
    default:
      append_number(text, value, 2, recorder);
      return text;
  }
}

std::string stamp_text(double seconds, const Recorder& recorder) {
  std::string text;
  const ClockParts c = clock_parts(seconds);
  switch (recorder.time_text) {
    case TimeText::seconds:
      append_number(text, seconds, 3, recorder);
      break;
    case TimeText::milliseconds:
      append_number(text, std::round(seconds * 1000.0), 0, recorder);
      break;
    case TimeText::clock:
      text = fmt::format("{:02}:{:02}:{:02}.{:03}", c.hour, c.minute, c.second, c.ms);
      break;
    case TimeText::clock_12h:
      text = fmt::format("{}:{:02}:{:02}.{:03} {}", c.hour % 12 == 0 ? 12 : c.hour % 12, c.minute,
                         c.second, c.ms, c.hour < 12 ? "AM" : "PM");
      break;
    case TimeText::date_time:
      text = fmt::format("2031-05-{:02}T{:02}:{:02}:{:02}.{:03}", c.day, c.hour, c.minute, c.second,
                         c.ms);
      break;
    case TimeText::date_and_clock:
      text = fmt::format("{:02}.05.2031{}{:02}:{:02}:{:02}.{:03}", c.day, recorder.delimiter,
                         c.hour, c.minute, c.second, c.ms);
      break;
  }
  return text;
}

std::string encoded(std::string utf8, Encoding encoding) {
  switch (encoding) {
    case Encoding::utf8:
      return utf8;
    case Encoding::utf8_marked:
      return "\xEF\xBB\xBF" + utf8;
    case Encoding::utf16_le:
      return utf16(utf8, true);
    case Encoding::utf16_be:
      return utf16(utf8, false);
    case Encoding::latin1:
      return latin1(utf8);
  }
  return utf8;
}

}  // namespace stopledger::model
