#include "report/plan_words.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace stopledger {

std::string block_words(const Block& block) {
  return block.record_id == 0 ? block.reason
                              : fmt::format("{} (record {})", block.reason, block.record_id);
}

std::string column_words(const Role& role) {
  const char* what = "column";
  switch (role.quantity) {
    case QuantityKind::wheel_speed:
      what = "wheel speed";
      break;
    case QuantityKind::inlet:
      what = "inlet valve";
      break;
    case QuantityKind::outlet:
      what = "outlet valve";
      break;
    case QuantityKind::valve:
      what = "valve";
      break;
    case QuantityKind::vehicle_speed:
      what = "vehicle speed";
      break;
    default:
      break;
  }
  if (role.place == PlaceKind::corner) return fmt::format("{} {}", what, corner_name(role.corner));
  if (role.place == PlaceKind::rear_axle) return fmt::format("{} rear", what);
  return what;
}

std::string run_name(const Run& run) { return fmt::format("run{:02}", run.number); }

std::span<const std::string_view> driver_lines(UnitKind unit) {
  static constexpr std::array<std::string_view, 3> pump_lines{
      "Press fast and hard and hold to standstill: no pumping, no easing. The car stays steerable.",
      "It works when the pedal pulses, buzzes or drops and pushes back, with a growl or hammering.",
      "In the last metres wheels may lock for a moment: normal. A lamp may flicker, not stay on."};
  static constexpr std::array<std::string_view, 3> piston_lines{
      "Press fast and hard and hold to standstill: no pumping, no easing. The car stays steerable.",
      "This kind of unit clicks and whirrs; the pedal stays up and hardly pulses.",
      "In the last metres wheels may lock for a moment: normal. A lamp may flicker, not stay on."};
  return unit == UnitKind::motor_piston ? piston_lines : pump_lines;
}

std::string columns_words(const std::vector<Role>& columns) {
  std::string text;
  for (const Role& role : columns) text += (text.empty() ? "" : ", ") + column_words(role);
  return text;
}

std::string corners_words(const Look& look) {
  std::string text;
  for (const Corner corner : look.corners)
    text += fmt::format("{}{}", text.empty() ? "" : "+", corner_name(corner));
  return text;
}

std::string clock_words(const SessionPlan& plan, double minutes) {
  const int m = static_cast<int>(std::lround(minutes));
  if (!plan.request.start_min) return fmt::format("+{}:{:02}", m / 60, m % 60);
  const int at = *plan.request.start_min + m;
  return fmt::format("{:02}:{:02}", at / 60 % 24, at % 60);
}

}  // namespace stopledger
