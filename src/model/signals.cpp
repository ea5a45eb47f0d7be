#include "model/signals.h"

#include <limits>

namespace stopledger::model {
namespace {

constexpr double not_there = std::numeric_limits<double>::quiet_NaN();

bool has_valve(const Unit& unit, Corner corner) { return unit.channels > 1 || !is_front(corner); }

double of_place(const PerCorner<double>& values, const Role& role) {
  if (role.place == PlaceKind::corner) return values[role.corner];
  if (role.place == PlaceKind::rear_axle) return 0.5 * (values[Corner::rl] + values[Corner::rr]);
  return not_there;
}

double of_circuit(const std::array<bool, 2>& values, const Role& role) {
  if (role.place == PlaceKind::circuit)
    return values[static_cast<std::size_t>(role.circuit - 1)] ? 1.0 : 0.0;
  return values[0] || values[1] ? 1.0 : 0.0;
}

std::vector<Role> per_channel(const Unit& unit, QuantityKind quantity) {
  std::vector<Role> roles;
  if (unit.channels == 3 || unit.channels == 1) {
    if (unit.channels == 3) {
      roles.push_back(Role::at(quantity, Corner::fl));
      roles.push_back(Role::at(quantity, Corner::fr));
    }
    roles.push_back(Role::rear(quantity));
    return roles;
  }
  for (Corner corner : all_corners)
    if (has_valve(unit, corner)) roles.push_back(Role::at(quantity, corner));
  return roles;
}

}  // namespace

double true_value(const Frame& frame, const Role& role) {
  using enum QuantityKind;
  const auto flag = [](bool value) { return value ? 1.0 : 0.0; };
  switch (role.quantity) {
    case wheel_speed:
      return of_place(frame.sensed_mps, role);
    case inlet:
      return of_place(frame.inlet, role);
    case outlet:
      return of_place(frame.outlet, role);
    case valve: {
      const double in = of_place(frame.inlet, role), out = of_place(frame.outlet, role);
      return out > 0.5 ? 2.0 : in > 0.5 ? 1.0 : 0.0;
    }
    case wheel_pressure:
      return of_place(frame.pressure_kpa, role);
    case isolation:
      return of_circuit(frame.isolation, role);
    case prime:
      return of_circuit(frame.prime, role);
    case pump:
      return flag(frame.pump);
    case master_pressure:
      return frame.master_kpa;
    case brake_switch:
      return flag(frame.pedal);
    case vehicle_speed:
      return frame.reference_mps;
    case satellite_speed:
      return frame.speed_mps;
    case accel_long:
      return frame.accel_mps2;
    case accel_lat:
      return frame.lateral_mps2;
    case yaw_rate:
      return frame.yaw_rate;
    case steering_angle:
      return frame.steer_rad;
    case throttle:
      return frame.throttle;
    case accelerator:
      return frame.accelerator;
    case supply_voltage:
      return frame.supply_v;
    case abs_active:
      return flag(frame.antilock);
    case stability_active:
      return flag(frame.stability);
    case traction_active:
      return flag(frame.traction);
    case warning_lamp:
      return flag(frame.lamp);
    default:
      return not_there;
  }
}

std::vector<Role> valve_roles(const Unit& unit) {
  if (unit.kind == UnitKind::three_position) return per_channel(unit, QuantityKind::valve);
  std::vector<Role> roles = per_channel(unit, QuantityKind::inlet);
  for (const Role& role : outlet_roles(unit)) roles.push_back(role);
  return roles;
}

std::vector<Role> outlet_roles(const Unit& unit) {
  return per_channel(
      unit, unit.kind == UnitKind::three_position ? QuantityKind::valve : QuantityKind::outlet);
}

std::vector<Role> wheel_speed_roles() {
  std::vector<Role> roles;
  for (Corner corner : all_corners) roles.push_back(Role::at(QuantityKind::wheel_speed, corner));
  return roles;
}

}  // namespace stopledger::model
