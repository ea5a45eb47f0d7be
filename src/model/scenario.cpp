#include "model/scenario.h"

#include <algorithm>
#include <array>

#include "model/random.h"

namespace stopledger::model {
namespace {

std::vector<ControllerDesign> make_designs() {
  std::vector<ControllerDesign> all;
  const auto add = [&all](ControllerDesign d) { all.push_back(std::move(d)); };
  add({.name = "stepped-10"});
  add({.name = "stepped-5",
       .loop_s = 0.005,
       .release_decel_mps2 = 13.0,
       .slip_low = 0.05,
       .slip_high = 0.13,
       .release_on_s = 0.012,
       .release_gap_s = 0.010,
       .first_step_s = 0.010,
       .step_on_s = 0.003,
       .step_off_s = 0.022});
  add({.name = "coarse-12",
       .loop_s = 0.012,
       .release_decel_mps2 = 20.0,
       .slip_high = 0.25,
       .recover_accel_mps2 = 8.0,
       .hold_max_s = 0.12,
       .rebuild = RebuildStyle::coarse,
       .end_speed_mps = 2.5,
       .rear_balance = false});
  add({.name = "partial-7",
       .loop_s = 0.007,
       .slip_high = 0.14,
       .release_on_s = 0.010,
       .release_gap_s = 0.014,
       .rebuild = RebuildStyle::partial,
       .partial_opening = 0.08,
       .balance_slip = 0.015});
  add({.name = "independent-10",
       .release_decel_mps2 = 18.0,
       .slip_high = 0.20,
       .step_on_s = 0.006,
       .step_off_s = 0.045,
       .rear_select_low = false});
  add({.name = "late-8",
       .loop_s = 0.008,
       .release_decel_mps2 = 22.0,
       .slip_low = 0.09,
       .slip_high = 0.22,
       .hold_max_s = 0.15,
       .first_step_s = 0.020,
       .step_on_s = 0.005,
       .step_off_s = 0.05,
       .clears_accumulator = true});
  // Reserved for judging.
  add({.name = "stepped-6-judge",
       .judging = true,
       .loop_s = 0.006,
       .release_decel_mps2 = 15.0,
       .slip_high = 0.17,
       .release_on_s = 0.018,
       .release_gap_s = 0.012,
       .first_step_s = 0.014,
       .step_on_s = 0.004,
       .step_off_s = 0.036});
  add({.name = "coarse-15-judge",
       .judging = true,
       .loop_s = 0.015,
       .release_decel_mps2 = 17.0,
       .slip_high = 0.28,
       .recover_accel_mps2 = 6.0,
       .hold_max_s = 0.18,
       .rebuild = RebuildStyle::coarse,
       .rear_balance = false});
  add({.name = "partial-10-judge",
       .judging = true,
       .slip_high = 0.18,
       .rebuild = RebuildStyle::partial,
       .partial_opening = 0.08,
       .end_speed_mps = 1.4});
  add({.name = "independent-8-judge",
       .judging = true,
       .loop_s = 0.008,
       .release_decel_mps2 = 14.0,
       .slip_high = 0.15,
       .step_on_s = 0.005,
       .step_off_s = 0.028,
       .rear_select_low = false,
       .clears_accumulator = true});
  return all;
}

std::vector<Fault> draw_faults(Random& random) {
  if (random.chance(0.5)) return {};
  static constexpr std::array<FaultKind, 7> kinds{
      FaultKind::outlet_stuck_closed, FaultKind::outlet_stuck_closed, FaultKind::pump_dead,
      FaultKind::inlet_stuck_closed,  FaultKind::inlet_stuck_open,    FaultKind::never_commanded,
      FaultKind::inlet_leaking};
  Fault fault;
  fault.kind = random.pick(std::span<const FaultKind>(kinds));
  fault.corner = random.pick(std::span<const Corner>(all_corners));
  fault.circuit = random.whole(1, 2);
  if (fault.kind != FaultKind::never_commanded && random.chance(0.35))
    fault.degree = random.uniform(0.4, 1.0);
  return {fault};
}

/// Stretches of free rolling, stop and standing, `stops` times.
Manoeuvre draw_stops(Random& random, double speed_mps, int stops, double pedal_kpa) {
  Manoeuvre m;
  m.start_mps = speed_mps;
  for (int i = 0; i < stops; ++i) {
    if (i > 0)
      m.phases.push_back({.duration_s = speed_mps / 1.8 + 2.0, .keep_speed_mps = speed_mps});
    m.phases.push_back({.duration_s = random.uniform(2.0, 5.0), .keep_speed_mps = speed_mps});
    m.phases.push_back({.duration_s = 40.0,
                        .until_standstill = true,
                        .pedal_kpa = pedal_kpa * random.uniform(0.9, 1.1),
                        .pedal_rate_kpa_per_s = random.log_uniform(20e3, 80e3)});
    m.phases.push_back({.duration_s = random.uniform(1.0, 2.5), .pedal_kpa = pedal_kpa});
    m.phases.push_back({.duration_s = random.uniform(0.5, 1.5)});
  }
  return m;
}

void draw_text(Random& random, Recorder& r) {
  static constexpr std::array<Wording, 4> wordings{Wording::plain, Wording::compact,
                                                   Wording::spoken, Wording::roles};
  r.wording = random.pick(std::span<const Wording>(wordings));
  static constexpr std::array<SpeedUnit, 4> speeds{SpeedUnit::kmh, SpeedUnit::kmh, SpeedUnit::mph,
                                                   SpeedUnit::mps};
  r.speed_unit = random.pick(std::span<const SpeedUnit>(speeds));
  static constexpr std::array<double, 3> steps{0.0, 0.1, 1.0};
  if (r.speed_unit != SpeedUnit::mps) r.speed_step = random.pick(std::span<const double>(steps));
  static constexpr std::array<StateText, 3> states{StateText::digits, StateText::on_off,
                                                   StateText::active};
  r.state_text = random.pick(std::span<const StateText>(states));
  r.time_text = random.chance(0.3) ? TimeText::milliseconds : TimeText::seconds;
  r.units_row = random.chance(0.15);
  if (random.chance(0.25)) {
    r.delimiter = ';';
    r.decimal_comma = random.chance(0.7);
  }
  r.crlf = random.chance(0.4);
  r.byte_order_mark = random.chance(0.1);
}

void append(std::vector<Role>& to, const std::vector<Role>& more) {
  to.insert(to.end(), more.begin(), more.end());
}

std::vector<Recorder> draw_recorders(Random& random, const Unit& unit) {
  Recorder base;
  draw_text(random, base);
  base.jitter = random.chance(0.5) ? random.uniform(0.02, 0.15) : 0.0;
  const Role pedal = Role::of_car(QuantityKind::brake_switch);
  const Role speed = Role::of_car(QuantityKind::vehicle_speed);
  const Role pump = Role::of_car(QuantityKind::pump);
  std::vector<Role> everything = wheel_speed_roles();
  append(everything, valve_roles(unit));
  everything.push_back(pump);
  everything.push_back(pedal);
  if (random.chance(0.6)) everything.push_back(speed);

  static constexpr std::array<double, 4> weights{0.5, 0.2, 0.12, 0.18};
  switch (random.weighted(weights)) {
    case 0: {  // block reads: everything in one log
      static constexpr std::array<double, 6> rates{7.4, 10.0, 18.0, 25.0, 50.0, 100.0};
      base.rate_hz = random.pick(std::span<const double>(rates));
      if (random.chance(0.3)) base.skew_s = 0.2 / base.rate_hz / 12.0;
      base.channels = everything;
      return {base};
    }
    case 1:  // turns with blanks over everything
    case 2:  // turns that repeat
      base.sampling = random.chance(0.5) ? Sampling::turns_blank : Sampling::turns_repeat;
      base.rate_hz = random.log_uniform(5.0, 200.0);
      base.channels = everything;
      return {base};
    default:
      break;
  }
  // A slow single link: fronts, rears, wheel speeds in three runs (trade practice).
  base.sampling = random.chance(0.5) ? Sampling::turns_repeat : Sampling::turns_blank;
  base.rate_hz = random.log_uniform(5.0, 60.0);
  Recorder fronts = base, rears = base, wheels = base;
  for (const Role& role : outlet_roles(unit))
    (role.place == PlaceKind::corner && is_front(role.corner) ? fronts : rears)
        .channels.push_back(role);
  fronts.channels.push_back(speed);
  rears.channels.push_back(Role::at(QuantityKind::wheel_speed, Corner::fl));
  wheels.channels = wheel_speed_roles();
  return {fronts, rears, wheels};
}

}  // namespace

std::span<const ControllerDesign> controller_designs() {
  static const std::vector<ControllerDesign> designs = make_designs();
  return designs;
}

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
      random.uniform(0.95, 1.35) * rear_n * 0.5 * car.rolling_radius_m / lock_kpa;
  car.steering_ratio = facts.steering_ratio.value_or(random.uniform(14.0, 20.0));
  car.facts = facts;
  return car;
}

Unit draw_unit(Random& random, const Car& car, const CarFacts& facts) {
  Unit unit;
  static constexpr std::array<double, 3> weights{0.72, 0.22, 0.06};
  static constexpr std::array<int, 3> channels{4, 3, 2};
  unit.channels = channels[random.weighted(weights)];
  unit.channels = facts.channels.value_or(unit.channels);
  if (unit.channels == 2 && car.split != CircuitSplit::diagonal) unit.channels = 4;
  unit.inlet_flow *= random.uniform(0.8, 1.25);
  unit.outlet_flow *= random.uniform(0.75, 1.3);
  unit.valve_travel_s = random.uniform(0.002, 0.005);
  unit.rear_flow_share = random.uniform(0.5, 0.8);
  unit.accumulator_cm3 = random.uniform(2.6, 4.5);
  unit.accumulator_kpa = random.uniform(120.0, 260.0);
  unit.pump_cm3_per_s = random.uniform(3.5, 7.0);
  return unit;
}

ControllerDesign draw_controller(Random& random, Split split, const CarFacts& facts) {
  std::vector<ControllerDesign> choice;
  for (const ControllerDesign& d : controller_designs())
    if (d.judging == (split == Split::judging)) choice.push_back(d);
  ControllerDesign d = random.pick(std::span<const ControllerDesign>(choice));
  // Two cars with the same unit are not alike either: software versions differ a little.
  d.release_decel_mps2 *= random.uniform(0.9, 1.1);
  d.slip_high *= random.uniform(0.9, 1.1);
  d.step_off_s *= random.uniform(0.85, 1.15);
  if (facts.rear_select_low) d.rear_select_low = *facts.rear_select_low;
  return d;
}

Ground draw_ground(Random& random, Surface surface) {
  const FrictionSpread spread = friction_spread(surface);
  const double factor = random.uniform(spread.low, spread.high);
  return {surface, factor, surface, factor, 0.0};
}

Scenario scenario(std::uint64_t seed, Split split) {
  Random random(seed * 2 + (split == Split::judging ? 1 : 0));
  Case c;
  c.car = draw_car(random);
  c.unit = draw_unit(random, c.car);
  c.controller = draw_controller(random, split);
  c.faults = draw_faults(random);

  static constexpr std::array<Surface, 7> surfaces{
      Surface::dry_asphalt, Surface::wet_asphalt,  Surface::gravel,    Surface::snow,
      Surface::ice,         Surface::dry_concrete, Surface::wet_cobble};
  static constexpr std::array<double, 7> weights{0.2, 0.32, 0.15, 0.15, 0.06, 0.06, 0.06};
  const Surface surface = surfaces[random.weighted(weights)];
  c.ground = {draw_ground(random, surface)};
  const double speed = random.uniform(20.0, 60.0) / 3.6;
  const double pedal_kpa = random.uniform(9000.0, 13000.0);
  const int stops = surface == Surface::ice ? 1 : random.whole(1, 3);

  Scenario out;
  for (const Recorder& recorder : draw_recorders(random, c.unit)) {
    Take take;
    take.c = c;
    take.c.manoeuvre = draw_stops(random, speed * random.uniform(0.95, 1.05), stops, pedal_kpa);
    take.run_seed = random.next_seed();
    take.recorder = recorder;
    out.takes.push_back(std::move(take));
  }
  return out;
}

}  // namespace stopledger::model
