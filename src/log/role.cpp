#include "log/role.h"

#include <array>

namespace stopledger {
namespace {

/// One row per quantity: its spelling, the places it may have, and whether it is on/off.
struct QuantityRow {
  QuantityKind quantity;
  std::string_view name;
  bool at_wheel;    // a corner or the rear axle
  bool at_circuit;  // circuit 1, circuit 2 or the whole car
  bool state;
};

constexpr std::array<QuantityRow, 28> quantity_rows{{
    {QuantityKind::wheel_speed, "wheel_speed", true, false, false},
    {QuantityKind::inlet, "inlet", true, false, true},
    {QuantityKind::outlet, "outlet", true, false, true},
    {QuantityKind::valve, "valve", true, false, true},
    {QuantityKind::wheel_pressure, "wheel_pressure", true, false, false},
    {QuantityKind::isolation, "isolation", false, true, true},
    {QuantityKind::prime, "prime", false, true, true},
    {QuantityKind::pump, "pump", false, false, true},
    {QuantityKind::master_pressure, "master_pressure", false, false, false},
    {QuantityKind::brake_switch, "brake_switch", false, false, true},
    {QuantityKind::brake_travel, "brake_travel", false, false, false},
    {QuantityKind::vehicle_speed, "vehicle_speed", false, false, false},
    {QuantityKind::satellite_speed, "satellite_speed", false, false, false},
    {QuantityKind::accel_long, "accel_long", false, false, false},
    {QuantityKind::accel_lat, "accel_lat", false, false, false},
    {QuantityKind::yaw_rate, "yaw_rate", false, false, false},
    {QuantityKind::steering_angle, "steering_angle", false, false, false},
    {QuantityKind::throttle, "throttle", false, false, false},
    {QuantityKind::accelerator, "accelerator", false, false, false},
    {QuantityKind::ignition_timing, "ignition_timing", false, false, false},
    {QuantityKind::engine_speed, "engine_speed", false, false, false},
    {QuantityKind::engine_torque, "engine_torque", false, false, false},
    {QuantityKind::supply_voltage, "supply_voltage", false, false, false},
    {QuantityKind::abs_active, "abs_active", false, false, true},
    {QuantityKind::stability_active, "stability_active", false, false, true},
    {QuantityKind::traction_active, "traction_active", false, false, true},
    {QuantityKind::warning_lamp, "warning_lamp", false, false, true},
    {QuantityKind::odometer, "odometer", false, false, false},
}};

const QuantityRow& row_of(QuantityKind quantity) {
  return quantity_rows[static_cast<std::size_t>(quantity)];
}

}  // namespace

std::string role_name(const Role& role) {
  std::string name(row_of(role.quantity).name);
  switch (role.place) {
    case PlaceKind::car:
      break;
    case PlaceKind::corner:
      name += "." + std::string(corner_name(role.corner));
      break;
    case PlaceKind::rear_axle:
      name += ".rear";
      break;
    case PlaceKind::circuit:
      name += "." + std::to_string(role.circuit);
      break;
  }
  return name;
}

std::optional<Role> parse_role(std::string_view text) {
  const auto dot = text.find('.');
  const auto name = text.substr(0, dot);
  for (const auto& row : quantity_rows) {
    if (row.name != name) continue;
    if (dot == std::string_view::npos)
      return row.at_wheel ? std::nullopt : std::optional(Role::of_car(row.quantity));
    const auto place = text.substr(dot + 1);
    if (row.at_wheel && place == "rear") return Role::rear(row.quantity);
    if (row.at_wheel)
      if (const auto corner = parse_corner(place)) return Role::at(row.quantity, *corner);
    if (row.at_circuit && (place == "1" || place == "2"))
      return Role::of_circuit(row.quantity, place == "1" ? 1 : 2);
  }
  return std::nullopt;
}

bool is_state(QuantityKind quantity) { return row_of(quantity).state; }

}  // namespace stopledger
