#pragma once

#include <compare>
#include <optional>
#include <string>
#include <string_view>

#include "base/corner.h"

namespace stopledger {

/// What a channel measures or commands. SI inside: m/s, rad, rad/s, m/s2, kPa, V, degC; states
/// are 0 or 1 (1 = coil energised, lamp lit, pedal pressed, function at work); duty 0 to 1.
enum class QuantityKind {
  wheel_speed,      ///< place: corner or rear axle; m/s
  inlet,            ///< place: corner or rear axle; 1 = energised = closed (duty: 0 to 1)
  outlet,           ///< place: corner or rear axle; 1 = energised = open (duty: 0 to 1)
  valve,            ///< place: corner or rear axle; three-position: 0 apply, 1 hold, 2 release
  wheel_pressure,   ///< place: corner or rear axle; kPa
  isolation,        ///< place: circuit 1, 2 or whole car; 1 = energised = closed
  prime,            ///< place: circuit 1, 2 or whole car; 1 = energised = open
  pump,             ///< 1 = motor commanded on
  master_pressure,  ///< kPa
  brake_switch,     ///< 1 = pedal pressed
  brake_travel,     ///< 0 to 1
  vehicle_speed,    ///< m/s, from the car
  satellite_speed,  ///< m/s, from a satellite receiver; may lag
  accel_long,       ///< m/s2, positive forward
  accel_lat,        ///< m/s2, positive to the left
  yaw_rate,         ///< rad/s, positive in a left turn
  steering_angle,   ///< rad at the steering wheel, positive to the left
  throttle,         ///< 0 to 1, the plate
  accelerator,      ///< 0 to 1, the pedal
  ignition_timing,  ///< rad before top dead centre
  engine_speed,     ///< rad/s
  engine_torque,    ///< Nm or share; used by its changes only
  supply_voltage,   ///< V
  abs_active,       ///< 1 = the controller says that anti-lock is at work
  stability_active,
  traction_active,
  warning_lamp,  ///< 1 = an ABS or stability lamp is lit
  odometer       ///< m
};

/// Where: one corner, the whole rear axle (3-channel valves, 3-sensor speed), a circuit, or the
/// car.
enum class PlaceKind { car, corner, rear_axle, circuit };

struct Role {
  QuantityKind quantity{};
  PlaceKind place = PlaceKind::car;
  Corner corner = Corner::fl;  ///< when place is corner
  int circuit = 0;             ///< 1 or 2 when place is circuit

  auto operator<=>(const Role&) const = default;

  static Role at(QuantityKind quantity, Corner corner) {
    return {quantity, PlaceKind::corner, corner, 0};
  }
  static Role rear(QuantityKind quantity) {
    return {quantity, PlaceKind::rear_axle, Corner::fl, 0};
  }
  static Role of_circuit(QuantityKind quantity, int circuit) {
    return {quantity, PlaceKind::circuit, Corner::fl, circuit};
  }
  static Role of_car(QuantityKind quantity) { return {quantity, PlaceKind::car, Corner::fl, 0}; }
};

/// "wheel_speed.FL", "outlet.rear", "isolation.1", "pump"; the spelling of JSON and channel maps.
std::string role_name(const Role& role);

/// Reverse of role_name; nothing for other text or for an impossible place (a "pump.FL").
std::optional<Role> parse_role(std::string_view text);

/// True for quantities that are on or off (or a duty): valves, pump, switches, flags.
bool is_state(QuantityKind quantity);

}  // namespace stopledger
