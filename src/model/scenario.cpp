#include "model/scenario.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "model/random.h"

namespace stopledger::model {
namespace {

std::vector<Fault> draw_faults(Random& random, const Case& c) {
  struct Row {
    FaultKind kind;
    double weight;
  };
  static constexpr std::array<Row, 22> rows{{
      {FaultKind::outlet_stuck_closed, 3.0},
      {FaultKind::outlet_slow, 1.5},
      {FaultKind::outlet_leaking, 1.0},
      {FaultKind::inlet_stuck_closed, 1.5},
      {FaultKind::inlet_slow_to_reopen, 1.2},
      {FaultKind::inlet_leaking, 1.2},
      {FaultKind::inlet_stuck_open, 1.5},
      {FaultKind::pump_dead, 2.0},
      {FaultKind::pump_weak, 1.2},
      {FaultKind::pump_piston_dead, 1.2},
      {FaultKind::accumulator_stuck, 1.0},
      {FaultKind::air, 0.8},
      {FaultKind::brake_slow_to_release, 1.2},
      {FaultKind::never_commanded, 1.5},
      {FaultKind::sensor_dead, 0.8},
      {FaultKind::sensor_dropout, 1.0},
      {FaultKind::ring_cracked, 1.0},
      {FaultKind::sensors_swapped, 0.8},
      {FaultKind::supply_dip, 0.8},
      {FaultKind::control_off, 1.0},
      {FaultKind::isolation_stuck_open, 0.0},
      {FaultKind::prime_stuck_closed, 0.0},
  }};
  std::array<double, rows.size()> weights{};
  for (std::size_t i = 0; i < rows.size(); ++i) {
    weights[i] = rows[i].weight;
    if (c.unit.has_isolation_valves && fault_place(rows[i].kind) == FaultPlace::circuit)
      weights[i] = std::max(weights[i], 1.0);
    if (c.unit.channels == 1 && fault_place(rows[i].kind) == FaultPlace::corner) weights[i] = 0.0;
  }
  std::vector<Fault> faults;
  const int count = random.chance(0.5) ? 0 : random.chance(0.07) ? 2 : 1;
  for (int i = 0; i < count; ++i) {
    Fault fault;
    fault.kind = rows[random.weighted(weights)].kind;
    fault.corner = random.pick(std::span<const Corner>(all_corners));
    fault.circuit = random.whole(1, 2);
    if (random.chance(0.4)) fault.degree = random.uniform(0.25, 1.0);
    faults.push_back(fault);
  }
  return faults;
}

Phase roll(double seconds, double mps) { return {.duration_s = seconds, .keep_speed_mps = mps}; }

/// Free rolling, stop, standing, pedal up; again and again.
void add_stops(Random& random, Manoeuvre& m, double mps, int stops, double pedal_kpa, bool moving,
               double slowest_rate = 20e3) {
  for (int i = 0; i < stops; ++i) {
    if (i > 0 || !moving) m.phases.push_back(roll(mps / 1.8 + 2.0, mps));
    m.phases.push_back(roll(random.uniform(2.0, 5.0), mps));
    m.phases.push_back(
        {.duration_s = 45.0,
         .until_standstill = true,
         .pedal_kpa = pedal_kpa * random.uniform(0.9, 1.1),
         .pedal_rate_kpa_per_s = random.log_uniform(slowest_rate, 4.0 * slowest_rate)});
    m.phases.push_back({.duration_s = random.uniform(1.0, 2.5), .pedal_kpa = pedal_kpa});
    m.phases.push_back({.duration_s = random.uniform(0.5, 1.5)});
  }
}

Manoeuvre draw_manoeuvre(Random& random, Purpose purpose, Surface surface, double mps) {
  Manoeuvre m;
  m.start_mps = mps;
  m.slope = random.chance(0.3) ? random.uniform(-0.015, 0.015) : 0.0;  // level within about 1 %
  const double full_kpa = random.uniform(9e3, 13e3);
  const bool slippery = surface == Surface::ice || surface == Surface::snow;
  switch (purpose) {
    case Purpose::exercise:
      add_stops(random, m, mps, surface == Surface::ice ? 1 : random.whole(1, 3), full_kpa, true);
      break;
    case Purpose::ordinary:
      add_stops(random, m, mps, random.whole(1, 3),
                slippery ? random.uniform(300.0, 700.0) : random.uniform(900.0, 2800.0), true,
                2.5e3);
      break;
    case Purpose::self_test:
    case Purpose::full_day:
      m.start_mps = 0.0;
      m.phases.push_back({.duration_s = random.uniform(1.0, 3.0), .pedal_kpa = 1500.0});
      m.phases.push_back(roll(mps / 1.2 + random.uniform(3.0, 8.0), mps));
      m.phases.push_back({.duration_s = 40.0,
                          .until_standstill = true,
                          .pedal_kpa = slippery ? 400.0 : random.uniform(900.0, 2000.0),
                          .pedal_rate_kpa_per_s = 4e3});
      m.phases.push_back({.duration_s = 1.5, .pedal_kpa = 1500.0});
      if (purpose == Purpose::full_day)
        add_stops(random, m, mps, random.whole(2, 4), full_kpa, false);
      break;
    case Purpose::traction:
      m.start_mps = 0.0;
      for (int i = random.whole(1, 3); i > 0; --i) {
        m.phases.push_back({.duration_s = random.uniform(1.0, 2.5), .pedal_kpa = 1500.0});
        m.phases.push_back(
            {.duration_s = random.uniform(2.0, 4.0), .accelerator = random.uniform(0.35, 1.0)});
        m.phases.push_back({.duration_s = random.uniform(0.5, 1.5)});
        m.phases.push_back({.duration_s = 40.0,
                            .until_standstill = true,
                            .pedal_kpa = 500.0,
                            .pedal_rate_kpa_per_s = 3e3});
      }
      break;
    case Purpose::stability: {
      const double side = random.chance(0.5) ? 1.0 : -1.0;
      const double wheel = side * random.uniform(1.2, 2.6);
      m.phases.push_back(roll(random.uniform(1.5, 3.0), mps));
      m.phases.push_back({.duration_s = random.uniform(0.8, 2.0),
                          .keep_speed_mps = mps,
                          .steer_rad = wheel,
                          .steer_rate_rad_per_s = random.uniform(4.0, 9.0)});
      if (random.chance(0.5))
        m.phases.push_back({.duration_s = random.uniform(0.5, 1.2),
                            .steer_rad = -0.8 * wheel,
                            .steer_rate_rad_per_s = random.uniform(6.0, 12.0)});
      m.phases.push_back({.duration_s = 2.0});
      m.phases.push_back({.duration_s = 45.0,
                          .until_standstill = true,
                          .pedal_kpa = slippery ? 500.0 : 1500.0,
                          .pedal_rate_kpa_per_s = 3e3});
      m.phases.push_back({.duration_s = 1.0, .pedal_kpa = 1500.0});
      break;
    }
  }
  return m;
}

std::vector<Ground> draw_grounds(Random& random, Purpose purpose, Surface surface) {
  const Grip grip = draw_grip(random, surface);
  std::vector<Ground> out{{grip, grip}};
  if (purpose == Purpose::traction || (purpose == Purpose::exercise && random.chance(0.1))) {
    // Split: one side slippery.
    Ground& split = out.front();
    split.left = draw_grip(random, Surface::wet_asphalt);
    split.right = draw_grip(random, random.chance(0.5) ? Surface::ice : Surface::snow);
    if (random.chance(0.5)) std::swap(split.left, split.right);
  } else if (purpose == Purpose::exercise && random.chance(0.08)) {
    // Patches: wet and dry stretches in turn.
    for (double at = random.uniform(20.0, 50.0); at < 400.0; at += random.uniform(4.0, 15.0)) {
      const Grip next =
          draw_grip(random, out.size() % 2 == 1 ? Surface::wet_cobble : Surface::dry_asphalt);
      out.push_back({next, next, at});
    }
  }
  return out;
}

}  // namespace

std::string_view purpose_name(Purpose purpose) {
  static constexpr std::array<std::string_view, 6> names{"exercise", "ordinary",  "self-test",
                                                         "traction", "stability", "full-day"};
  return names[static_cast<std::size_t>(purpose)];
}

Scenario scenario(std::uint64_t seed, Split split) {
  Random random(seed * 2 + (split == Split::judging ? 1 : 0));
  Scenario out;
  Case c;
  c.car = draw_car(random);
  c.unit = draw_unit(random, c.car);
  c.controller = draw_controller(random, split, c.unit);
  c.faults = draw_faults(random, c);

  static constexpr std::array<double, 6> purposes{0.62, 0.10, 0.05, 0.08, 0.08, 0.07};
  out.purpose = static_cast<Purpose>(random.weighted(purposes));
  static constexpr std::array<Surface, 8> surfaces{
      Surface::dry_asphalt, Surface::wet_asphalt,  Surface::gravel,     Surface::snow,
      Surface::ice,         Surface::dry_concrete, Surface::wet_cobble, Surface::dry_cobble};
  static constexpr std::array<double, 8> weights{0.2, 0.32, 0.14, 0.14, 0.06, 0.06, 0.05, 0.03};
  static constexpr std::array<double, 8> slides{0.0, 0.3, 0.0, 0.5, 0.1, 0.0, 0.1, 0.0};
  const Surface surface =
      surfaces[random.weighted(out.purpose == Purpose::stability ? slides : weights)];
  const std::vector<Ground> ground = draw_grounds(random, out.purpose, surface);
  const double mps = random.uniform(20.0, 60.0) / 3.6;

  std::vector<Recorder> recorders = draw_recorders(random, c, out.purpose);
  // Drawn apart, so that the sessions of the seeds before are what they were but for these forms.
  Random forms(seed * 2 + (split == Split::judging ? 1 : 0) + 0x5EED0F0CAB1E5ULL);
  draw_counted_forms(forms, recorders);
  for (const Recorder& recorder : recorders) {
    Take take;
    take.c = c;
    take.c.ground = ground;
    take.c.manoeuvre =
        draw_manoeuvre(random, out.purpose, surface, mps * random.uniform(0.95, 1.05));
    take.run_seed = random.next_seed();
    take.recorder = recorder;
    if (random.chance(0.05)) take.recorder.start_s = random.uniform(0.5, 4.0);
    if (random.chance(0.04)) take.recorder.clock_restart_s = random.uniform(4.0, 20.0);
    if (random.chance(0.02)) {
      take.recorder.clock_back_at_s = random.uniform(4.0, 20.0);
      take.recorder.clock_back_s = random.log_uniform(0.5, 3600.0);
    }
    out.takes.push_back(std::move(take));
  }
  return out;
}

}  // namespace stopledger::model
