#include <algorithm>
#include <array>

#include "model/random.h"
#include "model/scenario.h"

namespace stopledger::model {

Car draw_car(Random& random, const CarFacts& facts) {
  Car car;
  const double size = random.uniform(0.0, 1.0);
  static constexpr std::array<Drive, 5> drives{Drive::front, Drive::front, Drive::rear, Drive::rear,
                                               Drive::all};
  car.drive = random.pick(std::span<const Drive>(drives));
  if (facts.drive != Drive::unknown) car.drive = facts.drive;
  car.split = car.drive == Drive::front ? CircuitSplit::diagonal : CircuitSplit::front_rear;
  if (random.chance(0.15))
    car.split =
        car.split == CircuitSplit::diagonal ? CircuitSplit::front_rear : CircuitSplit::diagonal;
  if (facts.split != CircuitSplit::unknown) car.split = facts.split;
  car.mass_kg = (900.0 + 850.0 * size) * random.uniform(0.93, 1.07);
  car.wheelbase_m = 2.35 + 0.45 * size + random.uniform(-0.05, 0.05);
  car.track_m = 1.38 + 0.16 * size;
  car.mass_kg = facts.mass_kg.value_or(car.mass_kg);
  car.wheelbase_m = facts.wheelbase_m.value_or(car.wheelbase_m);
  car.track_m = facts.track_m.value_or(car.track_m);
  const double front_share =
      car.drive == Drive::front ? random.uniform(0.57, 0.64) : random.uniform(0.49, 0.55);
  car.cg_to_front_m = car.wheelbase_m * (1.0 - front_share);
  if (car.drive == Drive::rear && random.chance(0.2)) car.limited_slip_nm_per_mps = 150.0;
  car.front_lateral_stiffness = random.uniform(6.5, 8.5);
  car.rear_lateral_stiffness = car.front_lateral_stiffness * random.uniform(1.0, 1.3);
  for (Corner corner : all_corners)  // worn and odd tyres: fractions of a percent, rarely more
    car.tyre_size[corner] =
        1.0 + (random.chance(0.04) ? random.uniform(-0.06, 0.06) : 0.004 * random.normal(0.0, 1.0));
  car.cg_height_m = random.uniform(0.49, 0.60);
  car.yaw_inertia_kgm2 =
      car.mass_kg * car.cg_to_front_m * (car.wheelbase_m - car.cg_to_front_m) * 0.95;
  car.rolling_radius_m = 0.27 + 0.045 * size + random.uniform(-0.008, 0.008);
  car.rolling_radius_m = facts.rolling_radius_m.value_or(car.rolling_radius_m);
  car.wheel_inertia_kgm2 = 0.65 + 0.6 * size;
  // Brakes sized so that the front axle locks at 8 to 10 MPa on dry asphalt, the rear one a
  // little later at a middle deceleration.
  const double z = 0.95;
  const double weight = car.mass_kg * 9.81;
  const double front_n = weight * (front_share + z * car.cg_height_m / car.wheelbase_m);
  const double rear_n = weight - front_n;
  const double lock_kpa = random.uniform(7500.0, 9500.0);
  car.front_brake_nm_per_kpa = 1.0 * front_n * 0.5 * car.rolling_radius_m / lock_kpa;
  car.rear_brake_nm_per_kpa =
      random.uniform(0.9, 1.5) * rear_n * 0.5 * car.rolling_radius_m / lock_kpa;
  car.steering_ratio = facts.steering_ratio.value_or(random.uniform(14.0, 20.0));
  car.facts = facts;
  return car;
}

Unit draw_unit(Random& random, const Car& car, const CarFacts& facts) {
  Unit unit;
  static constexpr std::array<UnitKind, 5> kinds{
      UnitKind::two_valve, UnitKind::three_position, UnitKind::motor_piston,
      UnitKind::high_pressure_store, UnitKind::booster_store};
  static constexpr std::array<double, 5> kind_weights{0.74, 0.09, 0.05, 0.06, 0.06};
  unit.kind = kinds[random.weighted(kind_weights)];
  if (facts.unit_kind != UnitKind::unknown) unit.kind = facts.unit_kind;
  static constexpr std::array<double, 3> weights{0.72, 0.22, 0.06};
  static constexpr std::array<int, 3> channels{4, 3, 2};
  unit.channels = channels[random.weighted(weights)];
  unit.channels = facts.channels.value_or(unit.channels);
  unit.has_isolation_valves = facts.has_isolation_valves.value_or(
      unit.channels == 4 && unit.kind == UnitKind::two_valve && random.chance(0.4));
  if (unit.channels == 2 && car.split != CircuitSplit::diagonal) unit.channels = 4;
  unit.sensors = unit.channels == 3 && random.chance(0.3) ? 3 : 4;
  unit.sensors = facts.sensors == 3 ? 3 : unit.sensors;
  unit.inlet_flow *= random.uniform(0.8, 1.25);
  unit.outlet_flow *= random.uniform(0.75, 1.3);
  unit.valve_travel_s = random.uniform(0.002, 0.005);
  unit.rear_flow_share = random.uniform(0.5, 0.8);
  unit.accumulator_cm3 = random.uniform(2.6, 4.5);
  unit.accumulator_kpa = random.uniform(120.0, 260.0);
  unit.pump_cm3_per_s = random.uniform(3.5, 7.0);
  return unit;
}

ControllerDesign draw_controller(Random& random, Split split, const Unit& unit,
                                 const CarFacts& facts) {
  std::vector<ControllerDesign> choice;
  for (const ControllerDesign& d : controller_designs())
    if (d.judging == (split == Split::judging)) choice.push_back(d);
  ControllerDesign d = random.pick(std::span<const ControllerDesign>(choice));
  // Two cars with the same unit are not alike either: software versions differ a little.
  d.release_decel_mps2 *= random.uniform(0.9, 1.1);
  d.slip_high *= random.uniform(0.9, 1.1);
  d.step_off_s *= random.uniform(0.85, 1.15);
  d.self_test_mps = random.chance(0.75) ? random.uniform(4.0, 30.0) / 3.6 : 0.0;
  d.pump_run_on_s = random.uniform(0.1, 0.8);
  d.split_yaw_delay_s = random.chance(0.4) ? random.uniform(0.1, 0.35) : 0.0;
  if (unit.has_isolation_valves) {
    d.traction_brake = true;
    d.traction_torque = random.chance(0.8);
    d.stability = random.chance(0.6);
    d.vents_partner = random.chance(0.7);
  } else {
    d.traction_torque = random.chance(0.12);
  }
  if (facts.rear_select_low) d.rear_select_low = *facts.rear_select_low;
  return d;
}

Grip draw_grip(Random& random, Surface surface) {
  const FrictionSpread spread = friction_spread(surface);
  Grip grip{surface};
  grip.factor = random.uniform(spread.low, spread.high);
  grip.fall = random.uniform(spread.fall_low, spread.fall_high);
  return grip;
}

}  // namespace stopledger::model
