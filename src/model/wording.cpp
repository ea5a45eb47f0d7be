#include "model/wording.h"

#include <fmt/format.h>

#include <array>

namespace stopledger::model {
namespace {

std::string corner_words(Corner corner) {
  std::string words = is_left(corner) ? "Left" : "Right";
  return words + (is_front(corner) ? " front" : " rear");
}

/// Corner named from the seats: the driver's side is left when the wheel is on the left.
std::string corner_by_seat(Corner corner, SteeringSide wheel) {
  std::string words = is_left(corner) == (wheel == SteeringSide::left) ? "Driver" : "Passenger";
  return words + (is_front(corner) ? " front" : " rear");
}

std::string corner_compact(Corner corner) {
  return std::string(is_left(corner) ? "L" : "R") + (is_front(corner) ? "F" : "R");
}

/// Quantity in words, its short code, and its unit in this export.
struct Naming {
  std::string words, code, unit;
};

Naming naming(const Role& role, const Recorder& recorder) {
  static constexpr std::array<std::string_view, 6> speed_units{"km/h", "mph", "m/s",
                                                               "rpm",  "Hz",  "pulses"};
  static constexpr std::array<std::string_view, 3> pressure_units{"bar", "kPa", "psi"};
  const std::string speed(speed_units[static_cast<std::size_t>(recorder.speed_unit)]);
  const std::string road = recorder.speed_unit >= SpeedUnit::rpm ? "km/h" : speed;
  const std::string pressure(pressure_units[static_cast<std::size_t>(recorder.pressure_unit)]);
  const std::string duty = recorder.state_text == StateText::percent ? "%" : "";
  const std::string degree = recorder.degree_sign ? "\u00b0" : "deg";
  const std::string acceleration = recorder.acceleration_in_g ? "g" : "m/s2";
  using enum QuantityKind;
  switch (role.quantity) {
    case wheel_speed:
      return {"wheel speed", "SPD", speed};
    case inlet:
      return {"inlet valve", "IV", duty};
    case outlet:
      return {"outlet valve", "OV", duty};
    case valve:
      return {"modulator valve", "SOL", ""};
    case wheel_pressure:
      return {"brake pressure", "PRS", pressure};
    case isolation:
      return {"isolation valve", "ISO", ""};
    case prime:
      return {"prime valve", "PRM", ""};
    case pump:
      return {"return pump", "PUMP", ""};
    case master_pressure:
      return {"master cylinder pressure", "MCP", pressure};
    case brake_switch:
      return {"brake switch", "BRK_SW", ""};
    case vehicle_speed:
      return {"vehicle speed", "VSPD", road};
    case satellite_speed:
      return {"GPS speed", "GPS_SPD", road};
    case accel_long:
      return {"longitudinal acceleration", "AX", acceleration};
    case accel_lat:
      return {"lateral acceleration", "AY", acceleration};
    case yaw_rate:
      return {"yaw rate", "YAW", degree + "/s"};
    case steering_angle:
      return {"steering angle", "STEER", degree};
    case throttle:
      return {"throttle position", "TPS", "%"};
    case accelerator:
      return {"accelerator pedal", "APP", "%"};
    case supply_voltage:
      return {"battery voltage", "VBAT", "V"};
    case abs_active:
      return {"ABS active", "ABS_ACT", ""};
    case stability_active:
      return {"stability active", "ESC_ACT", ""};
    case traction_active:
      return {"traction control active", "TC_ACT", ""};
    case warning_lamp:
      return {"ABS warning lamp", "ABS_LAMP", ""};
    default:
      return {"value", "VAL", ""};
  }
}

}  // namespace

std::string column_header(const Role& role, const Recorder& recorder) {
  const Naming name = naming(role, recorder);
  const bool with_unit = !name.unit.empty() && !recorder.units_row;
  if (recorder.wording == Wording::roles) {
    const std::string text = role_name(role);
    return with_unit ? text + " [" + name.unit + "]" : text;
  }
  if (recorder.wording == Wording::compact) {
    std::string text = name.code;
    if (role.place == PlaceKind::corner) text = corner_compact(role.corner) + "_" + name.code;
    if (role.place == PlaceKind::rear_axle) text = "REAR_" + name.code;
    if (role.place == PlaceKind::circuit) text += fmt::format("_{}", role.circuit);
    return with_unit ? text + "(" + name.unit + ")" : text;
  }
  std::string text = name.words;
  if (recorder.wording == Wording::spoken || recorder.wording == Wording::seats) {
    if (role.place == PlaceKind::corner)
      text = (recorder.wording == Wording::spoken ? corner_words(role.corner)
                                                  : corner_by_seat(role.corner, recorder.wheel)) +
             " " + text;
    if (role.place == PlaceKind::rear_axle) text = "Rear " + text;
  } else {
    if (role.place == PlaceKind::corner) text += " " + std::string(corner_name(role.corner));
    if (role.place == PlaceKind::rear_axle) text += " rear";
  }
  if (role.place == PlaceKind::circuit) text += fmt::format(" circuit {}", role.circuit);
  if (text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return with_unit ? text + " [" + name.unit + "]" : text;
}

std::string unit_text(const Role& role, const Recorder& recorder) {
  return naming(role, recorder).unit;
}

}  // namespace stopledger::model
