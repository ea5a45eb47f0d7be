#include "judge/control_cases.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "log/reader.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"

namespace stopledger::control_cases {

namespace {

using model::Case;
using model::Cause;
using model::Frame;
using model::Grip;
using model::Random;
using model::Surface;

constexpr double degree = std::numbers::pi / 180.0;

bool driven(const model::Car& car, Corner corner) {
  return car.drive == Drive::all || (car.drive == Drive::front) == is_front(corner);
}

Grip some_grip(Random& random, Surface surface) {
  return {surface, random.uniform(0.85, 1.1), random.uniform(0.7, 1.0)};
}

model::Phase keep(double seconds, double mps, double steer = 0.0) {
  return {.duration_s = seconds,
          .keep_speed_mps = mps,
          .steer_rad = steer,
          .steer_rate_rad_per_s = 6.0};
}

model::Phase gentle_stop(double pedal_kpa) {
  return {.duration_s = 40.0,
          .until_standstill = true,
          .pedal_kpa = pedal_kpa,
          .pedal_rate_kpa_per_s = 3e3};
}

void draw_plain(Random& random, Case& c) {
  const Grip dry = some_grip(random, Surface::dry_asphalt);
  c.ground = {{dry, dry}};
  const double mps = random.uniform(6.0, 14.0);
  // A third of the grip at most: 2.5 m/s2 to the side.
  const double bend = 2.5 * c.car.wheelbase_m / (mps * mps);
  const double side = random.chance(0.5) ? 1.0 : -1.0;
  const double steer = side * c.car.steering_ratio * bend * random.uniform(0.4, 1.0);
  c.manoeuvre.start_mps = 0.0;
  c.manoeuvre.phases = {{.duration_s = 1.5, .pedal_kpa = 1500.0},
                        keep(mps / 1.6 + 2.0, mps),
                        keep(random.uniform(1.0, 2.5), mps, steer),
                        keep(random.uniform(1.0, 2.0), mps, -steer),
                        keep(2.0, mps),
                        gentle_stop(random.uniform(900.0, 2000.0)),
                        {.duration_s = 1.0, .pedal_kpa = 1500.0}};
}

void draw_bend(Random& random, Case& c, Group group) {
  const Grip grip = some_grip(random, random.chance(0.65) ? Surface::snow : Surface::wet_asphalt);
  c.ground = {{grip, grip}};
  const double hardest = grip.surface == Surface::snow ? 1.0 : 1.45;  // more grip, more speed
  const double mps = hardest * random.uniform(9.0, 13.0);
  const double side = random.chance(0.5) ? 1.0 : -1.0;
  c.manoeuvre.start_mps = mps;
  c.manoeuvre.driver_correction = random.uniform(0.0, 0.6);
  c.manoeuvre.phases = {keep(random.uniform(1.5, 2.5), mps)};
  auto& phases = c.manoeuvre.phases;
  if (group == Group::understeer) {
    // A nose-heavy car, steered without haste and back again likewise: the rear axle holds.
    c.car.cg_to_front_m = c.car.wheelbase_m * random.uniform(0.38, 0.42);
    c.car.rear_lateral_stiffness = random.uniform(9.0, 11.0);
    model::Phase in = keep(random.uniform(2.0, 3.0), mps, side * random.uniform(2.5, 4.5));
    in.steer_rate_rad_per_s = random.uniform(2.0, 4.0);
    phases.push_back(in);
    phases.push_back({.duration_s = 2.0, .steer_rate_rad_per_s = 2.0});
  } else if (group == Group::oversteer) {
    c.car.drive = Drive::rear;
    c.car.split = CircuitSplit::front_rear;
    c.controller.traction_brake = c.controller.traction_torque = false;
    phases.push_back({.duration_s = random.uniform(1.2, 2.2),
                      .accelerator = random.uniform(0.6, 0.9),
                      .steer_rad = side * random.uniform(1.2, 2.0)});
  } else {
    const double wheel = side * random.uniform(1.4, 2.6);
    phases.push_back(keep(random.uniform(0.7, 1.2), mps, wheel));
    phases.push_back({.duration_s = random.uniform(0.6, 1.2),
                      .steer_rad = -wheel,
                      .steer_rate_rad_per_s = random.uniform(8.0, 12.0)});
  }
  phases.push_back({.duration_s = 2.5});
}

void draw_launch(Random& random, Case& c, Group group) {
  Grip left = some_grip(random, random.chance(0.5) ? Surface::ice : Surface::snow);
  Grip right = random.chance(0.6) ? some_grip(random, Surface::wet_asphalt) : left;
  if (random.chance(0.5)) std::swap(left, right);
  c.ground = {{left, right}};
  const std::array drives{Drive::front, Drive::rear};
  c.car.drive = random.pick(std::span<const Drive>(drives));
  c.car.split = c.car.drive == Drive::front ? CircuitSplit::diagonal : CircuitSplit::front_rear;
  auto& control = c.controller;
  const double kind = random.unit();
  control.traction_brake = kind < 0.67;
  control.traction_torque = kind > 0.33;
  if (group == Group::spinning) control.traction_brake = control.traction_torque = false;
  control.stability = false;
  c.manoeuvre.start_mps = 0.0;
  c.manoeuvre.phases = {
      {.duration_s = 1.5, .pedal_kpa = 1500.0},
      {.duration_s = random.uniform(2.0, 4.0), .accelerator = random.uniform(0.4, 1.0)},
      {.duration_s = 6.0},
      gentle_stop(500.0)};
}

/// Either well below or well above what tuning drew.
double outside(Random& random, double low, double below, double above, double high) {
  return random.chance(0.5) ? random.uniform(low, below) : random.uniform(above, high);
}

/// Lighter, heavier, shorter and longer cars on softer and stiffer tyres than tuning drew, with the
/// anti-lock controllers that are kept for judging.
void draw_unseen_car(Random& random, Case& c) {
  model::Car& car = c.car;
  car.mass_kg = outside(random, 800.0, 1080.0, 1620.0, 2200.0);
  car.steering_ratio = outside(random, 12.0, 14.8, 19.2, 22.0);
  car.wheelbase_m = outside(random, 2.15, 2.42, 2.78, 3.05);
  car.track_m = random.uniform(1.30, 1.62);
  car.cg_height_m = random.uniform(0.46, 0.62);
  car.cg_to_front_m = car.wheelbase_m * random.uniform(0.40, 0.50);
  car.front_lateral_stiffness = outside(random, 5.8, 7.2, 7.8, 9.5);
  car.rear_lateral_stiffness = car.front_lateral_stiffness * random.uniform(1.02, 1.3);
  car.yaw_inertia_kgm2 = car.mass_kg * car.cg_to_front_m * (car.wheelbase_m - car.cg_to_front_m) *
                         random.uniform(0.85, 1.1);
  car.wheel_inertia_kgm2 = random.uniform(0.6, 1.3);
  for (const Corner corner : all_corners)
    car.tyre_size[corner] = 1.0 + 0.004 * random.normal(0.0, 1.0);
  std::vector<model::ControllerDesign> designs;
  for (const model::ControllerDesign& design : model::controller_designs())
    if (design.judging) designs.push_back(design);
  c.controller = random.pick(std::span<const model::ControllerDesign>(designs));
}

Case draw_case(Random& random, Group group, model::Split split) {
  Case c;
  c.car.mass_kg = random.uniform(1100.0, 1600.0);
  c.car.steering_ratio = random.uniform(15.0, 19.0);
  c.car.wheelbase_m = random.uniform(2.45, 2.75);
  c.car.cg_to_front_m = c.car.wheelbase_m * random.uniform(0.42, 0.48);
  c.car.rear_lateral_stiffness = random.uniform(8.0, 9.5);
  if (split == model::Split::judging) draw_unseen_car(random, c);
  c.unit.has_isolation_valves = true;
  auto& control = c.controller;
  control.stability = control.traction_brake = control.traction_torque = true;
  control.vents_partner = random.chance(0.6);
  if (group == Group::plain)
    draw_plain(random, c);
  else if (group == Group::launch || group == Group::spinning)
    draw_launch(random, c, group);
  else
    draw_bend(random, c, group);
  return c;
}

/// Which axle slides at this instant, alone: the front one when it slides 2 degrees further
/// outwards than the rear one while that one's slip angle is below 8 degrees (where tyres are about
/// their best), the rear one when its is beyond that and the front one's is no greater. (The
/// difference of the two is the steering less what the turn needs without any slip.)
Tendency sliding(const Frame& f, const model::Car& car) {
  const double v = std::max(f.speed_mps, 1.0), side = f.yaw_rate >= 0.0 ? 1.0 : -1.0;
  const double rear_m = car.wheelbase_m - car.cg_to_front_m;
  const double rear = std::abs(std::atan((f.side_mps - rear_m * f.yaw_rate) / v));
  const double front_more =
      side * (f.steer_rad / car.steering_ratio - std::atan(car.wheelbase_m * f.yaw_rate / v));
  if (rear < 8.0 * degree) return front_more > 2.0 * degree ? Tendency::understeer : Tendency::none;
  return front_more < 0.0 ? Tendency::oversteer : Tendency::none;
}

bool spinning(const Frame& f, Corner corner) {
  return f.wheel_mps[corner] > 1.12 * f.speed_mps + 0.8;
}

TrueEpisode describe(const model::Run& run, const Case& c, bool stability, std::size_t from,
                     std::size_t to) {
  TrueEpisode one;
  one.stability = stability;
  one.start_s = run.frames[from].t_s;
  one.end_s = run.frames[to].t_s;
  double front_s = 0.0, rear_s = 0.0, cut_s = 0.0;
  PerCorner<double> spin_s;
  PerCorner<bool> braked;
  PerCorner<double> acted_s;
  for (std::size_t i = from; i <= to; ++i) {
    const Frame& f = run.frames[i];
    const Tendency slides = sliding(f, c.car);
    if (slides == Tendency::understeer) front_s += run.step_s;
    if (slides == Tendency::oversteer) rear_s += run.step_s;
    one.answered = one.answered || f.stability || f.traction;
    if (f.accelerator > 0.1 && f.throttle < 0.7 * f.accelerator) cut_s += run.step_s;
    for (const Corner corner : all_corners) {
      const Cause cause = stability ? Cause::stability_build : Cause::traction_build;
      braked[corner] =
          braked[corner] || (f.cause[corner] == cause && f.pressure_kpa[corner] > 500.0);
      if (f.cause[corner] == cause) acted_s[corner] += run.step_s;
      if (!driven(c.car, corner) || !spinning(f, corner)) continue;
      spin_s[corner] += run.step_s;
      one.spin_mps = std::max(one.spin_mps, f.wheel_mps[corner] - f.speed_mps);
    }
  }
  one.torque_cut = cut_s > 0.1;
  for (const Corner corner : all_corners) {
    if (braked[corner]) one.braked.push_back(corner);
    if (acted_s[corner] > 0.03) one.touched.push_back(corner);
    one.spin_s = std::max(one.spin_s, spin_s[corner]);
  }
  // Clear only where one axle slid alone for half of the time, and the other next to never.
  const double all_s = one.end_s - one.start_s;
  if (stability && front_s > 0.5 * all_s && front_s > 4.0 * rear_s)
    one.tendency = Tendency::understeer;
  else if (stability && rear_s > 0.5 * all_s && rear_s > 4.0 * front_s)
    one.tendency = Tendency::oversteer;
  return one;
}

std::vector<TrueEpisode> find_true_episodes(const model::Run& run, const Case& c, Group group) {
  std::vector<TrueEpisode> out;
  for (const bool stability : {true, false}) {
    // A wheel that spins in a slide is part of the slide.
    if (!stability &&
        (group == Group::oversteer || group == Group::understeer || group == Group::counter))
      continue;
    constexpr double joined_s = 1.0;
    std::size_t from = 0, to = 0;
    bool open = false;
    const auto close = [&] {
      if (open) out.push_back(describe(run, c, stability, from, to));
      open = false;
    };
    for (std::size_t i = 0; i < run.frames.size(); ++i) {
      const Frame& f = run.frames[i];
      bool on = stability ? f.stability : f.traction;
      if (!stability && !f.pedal)
        for (const Corner corner : all_corners)
          on = on || (driven(c.car, corner) && spinning(f, corner));
      if (!on) continue;
      if (open && f.t_s - run.frames[to].t_s > joined_s) close();
      if (!open) from = i;
      open = true;
      to = i;
    }
    close();
  }
  return out;
}

/// What the reader would have made of an ignition timing column: pulled back with the torque.
void throttle_to_timing(Log& log) {
  const Channel* pedal = log.find(Role::of_car(QuantityKind::accelerator));
  for (Channel& channel : log.channels) {
    if (channel.role.quantity != QuantityKind::throttle || !pedal) continue;
    channel.role = Role::of_car(QuantityKind::ignition_timing);
    for (std::size_t i = 0; i < channel.series.size(); ++i) {
      const double asked = pedal->series.value[std::min(i, pedal->series.size() - 1)];
      const double left = asked > 0.05 ? std::min(channel.series.value[i] / asked, 1.0) : 1.0;
      channel.series.value[i] = (22.0 - 6.0 * asked - 32.0 * (1.0 - left)) * degree;
    }
  }
}

void add_sensor_errors(Random& random, Log& log) {
  for (Channel& channel : log.channels) {
    const bool yaw = channel.role.quantity == QuantityKind::yaw_rate;
    if (!yaw && channel.role.quantity != QuantityKind::steering_angle) continue;
    const double offset = random.uniform(-1.0, 1.0) * (yaw ? 1.0 : 3.0) * degree;
    for (double& value : channel.series.value)
      value += offset + random.normal(0.0, yaw ? 0.4 : 0.3) * degree;
  }
}

}  // namespace

std::string group_name(Group group) {
  static constexpr std::array names{"plain",   "understeer", "oversteer",
                                    "counter", "launch",     "spinning"};
  return names[static_cast<std::size_t>(group)];
}

ControlRun draw_control_run(std::uint64_t seed, Group group, double rate_hz, model::Split split) {
  const bool judging = split == model::Split::judging;
  Random random(seed * 64 + static_cast<std::uint64_t>(group) * 8 + (judging ? 6 : 5));
  ControlRun out;
  out.group = group;
  out.rate_hz = rate_hz;
  out.c = draw_case(random, group, split);
  model::Recorder recorder;
  recorder.channels = model::wheel_speed_roles();
  recorder.rate_hz = rate_hz;
  recorder.noise = random.uniform(0.001, judging ? 0.010 : 0.006);
  recorder.jitter = random.uniform(0.0, judging ? 0.2 : 0.1);
  const auto add = [&](const Role& role) { recorder.channels.push_back(role); };
  using enum QuantityKind;
  add(Role::of_car(brake_switch));
  add(Role::of_car(pump));
  for (const QuantityKind quantity : {yaw_rate, steering_angle, accel_lat})
    add(Role::of_car(quantity));
  const bool launch = group == Group::launch || group == Group::spinning;
  out.valves_logged = random.chance(0.8) || !launch;
  if (out.valves_logged) {
    for (const Role& role : model::valve_roles(out.c.unit)) add(role);
    for (int circuit = 1; circuit <= 2; ++circuit)
      for (const QuantityKind quantity : {isolation, prime})
        add(Role::of_circuit(quantity, circuit));
  }
  const double torque = random.unit();
  out.throttle_logged = torque < 0.5;
  out.timing_logged = torque >= 0.5 && torque < 0.75;
  if (torque < 0.75) {
    add(Role::of_car(throttle));
    add(Role::of_car(accelerator));
  }
  const model::Run run = model::simulate(out.c, random.next_seed());
  const model::Recording recording = record_run(run, out.c, recorder, random.next_seed());
  ReadOptions reading;
  reading.car = car_facts(out.c);
  out.log = read_log_text(recording.text, group_name(group) + ".csv", reading);
  if (out.timing_logged) throttle_to_timing(out.log);
  add_sensor_errors(random, out.log);
  out.truth = find_true_episodes(run, out.c, group);
  for (TrueEpisode& one : out.truth) {
    one.start_s -= recording.first_s;
    one.end_s -= recording.first_s;
  }
  return out;
}

}  // namespace stopledger::control_cases
