#include <algorithm>
#include <array>

#include "model/random.h"
#include "model/scenario.h"
#include "model/signals.h"

namespace stopledger::model {
namespace {

template <typename T, std::size_t N>
T one_of(Random& random, const std::array<T, N>& items) {
  return random.pick(std::span<const T>(items));
}

void append(std::vector<Role>& to, const std::vector<Role>& more) {
  to.insert(to.end(), more.begin(), more.end());
}

std::vector<Role> wheel_speeds(const Unit& unit) {
  if (unit.sensors == 4) return wheel_speed_roles();
  return {Role::at(QuantityKind::wheel_speed, Corner::fl),
          Role::at(QuantityKind::wheel_speed, Corner::fr), Role::rear(QuantityKind::wheel_speed)};
}

/// Everything that a full block read of this car would hold.
std::vector<Role> everything(Random& random, const Case& c, Purpose purpose) {
  using enum QuantityKind;
  std::vector<Role> all = wheel_speeds(c.unit);
  append(all, valve_roles(c.unit));
  if (c.unit.kind != UnitKind::motor_piston) all.push_back(Role::of_car(pump));
  all.push_back(Role::of_car(brake_switch));
  if (random.chance(0.6)) all.push_back(Role::of_car(vehicle_speed));
  if (random.chance(0.1)) all.push_back(Role::of_car(satellite_speed));
  if (c.unit.has_isolation_valves)
    for (int circuit = 1; circuit <= 2; ++circuit) {
      all.push_back(Role::of_circuit(isolation, circuit));
      all.push_back(Role::of_circuit(prime, circuit));
    }
  if (c.controller.stability)
    for (QuantityKind q : {yaw_rate, steering_angle, accel_lat, master_pressure})
      all.push_back(Role::of_car(q));
  if (purpose == Purpose::traction || random.chance(0.1))
    for (QuantityKind q : {throttle, accelerator}) all.push_back(Role::of_car(q));
  if (random.chance(0.2)) all.push_back(Role::of_car(supply_voltage));
  if (random.chance(0.25)) all.push_back(Role::of_car(warning_lamp));
  if (random.chance(0.15)) all.push_back(Role::of_car(abs_active));
  if (random.chance(0.1)) all.push_back(Role::of_car(accel_long));
  if (random.chance(0.03))
    for (Corner corner : all_corners) all.push_back(Role::at(wheel_pressure, corner));
  return all;
}

}  // namespace

Recorder draw_recorder(Random& random) {
  Recorder r;
  r.wording =
      one_of(random, std::array{Wording::plain, Wording::compact, Wording::spoken, Wording::roles});
  r.speed_unit =
      one_of(random, std::array{SpeedUnit::kmh, SpeedUnit::kmh, SpeedUnit::kmh, SpeedUnit::mph,
                                SpeedUnit::mph, SpeedUnit::mps, SpeedUnit::rpm});
  if (r.speed_unit == SpeedUnit::kmh || r.speed_unit == SpeedUnit::mph)
    r.speed_step = one_of(random, std::array{0.0, 0.0, 0.1, 0.5, 1.0, 1.0});
  r.pressure_unit =
      one_of(random, std::array{PressureUnit::bar, PressureUnit::kpa, PressureUnit::psi});
  r.state_text = one_of(
      random, std::array{StateText::digits, StateText::digits, StateText::on_off, StateText::on_off,
                         StateText::active, StateText::active, StateText::open_closed,
                         StateText::open_closed, StateText::percent});
  r.time_text = one_of(
      random, std::array{TimeText::seconds, TimeText::seconds, TimeText::seconds, TimeText::seconds,
                         TimeText::milliseconds, TimeText::milliseconds, TimeText::clock,
                         TimeText::clock_12h, TimeText::date_time, TimeText::date_and_clock});
  if (random.chance(0.25)) {
    r.delimiter = ';';
    r.decimal_comma = random.chance(0.7);
  } else if (random.chance(0.1)) {
    r.delimiter = '\t';
  }
  r.crlf = random.chance(0.4);
  static constexpr std::array<double, 5> encodings{0.8, 0.1, 0.03, 0.02, 0.05};
  r.encoding = static_cast<Encoding>(random.weighted(encodings));
  r.degree_sign = random.chance(0.3);
  r.acceleration_in_g = random.chance(0.4);

  r.units_row = random.chance(0.15);
  r.trailing_delimiter = random.chance(0.06);
  r.preamble_lines = random.chance(0.15) ? random.whole(1, 4) : 0;
  if (random.chance(0.2)) r.missing_text = random.chance(0.5) ? "--" : "N/A";
  r.cut_last_line = random.chance(0.05);
  r.jitter = random.chance(0.5) ? random.uniform(0.02, 0.2) : 0.0;
  r.noise = random.chance(0.2) ? random.uniform(0.001, 0.006) : 0.0;
  r.stuck_share = random.chance(0.1) ? random.uniform(0.02, 0.15) : 0.0;
  r.clip_mps = random.chance(0.4) ? random.uniform(1.0, 5.0) / 3.6 : 0.0;
  if (random.chance(0.3)) r.clock_offset_s = random.uniform(1.0, 50000.0);
  const bool number_time =
      r.time_text == TimeText::seconds || r.time_text == TimeText::milliseconds;
  r.time_per_value = number_time && random.chance(0.05);
  if (random.chance(0.03)) r.swapped_share = random.uniform(0.001, 0.02);
  if (random.chance(0.3)) r.satellite_lag_s = random.uniform(0.3, 2.0);
  return r;
}

void draw_counted_forms(Random& random, std::vector<Recorder>& recorders) {
  const double form = random.unit();
  const bool pulses = form < 0.02, hz = form >= 0.02 && form < 0.04;
  const double teeth = random.whole(40, 60);  // from memory: usual rings
  const bool wide = random.chance(0.5), pack = random.chance(0.05);
  for (Recorder& r : recorders) {
    r.ring_teeth = teeth;
    if (pulses || hz) {
      r.speed_unit = pulses ? SpeedUnit::pulses : SpeedUnit::hz;
      r.speed_step = 0.0;
      // A count of 8 bits is at its end after 256 of some 400 pulses a second.
      const bool slow = channel_rate_hz(r, 0) < 8.0;
      r.counter_bits = wide || slow ? 16 : 8;
    }
    r.pack_valves = pack && r.sampling == Sampling::block;
  }
}

std::vector<Recorder> draw_recorders(Random& random, const Case& c, Purpose purpose) {
  Recorder base = draw_recorder(random);
  const Role speed = Role::of_car(QuantityKind::vehicle_speed);
  const std::vector<Role> all = everything(random, c, purpose);
  static constexpr std::array<double, 6> weights{0.40, 0.19, 0.06, 0.10, 0.18, 0.07};
  const std::size_t form = random.weighted(weights);
  if (form == 0) {  // block reads: everything in one log
    static constexpr std::array<double, 7> rates{5.0, 7.4, 10.0, 18.0, 25.0, 50.0, 100.0};
    base.rate_hz = random.pick(std::span<const double>(rates));
    if (random.chance(0.3))
      base.skew_s = random.uniform(0.1, 0.8) / base.rate_hz / static_cast<double>(all.size());
    base.channels = all;
    return {base};
  }
  if (form <= 2) {  // one link shared by all channels in turn
    base.sampling = form == 2            ? Sampling::rounds
                    : random.chance(0.5) ? Sampling::turns_blank
                                         : Sampling::turns_repeat;
    base.rate_hz = random.log_uniform(5.0, 250.0);
    base.channels = all;
    return {base};
  }
  if (form == 3) {  // wheel speeds only
    base.sampling = random.chance(0.5) ? Sampling::block : Sampling::turns_repeat;
    base.rate_hz = base.sampling == Sampling::block ? random.log_uniform(5.0, 60.0)
                                                    : random.log_uniform(5.0, 120.0);
    base.channels = wheel_speeds(c.unit);
    return {base};
  }
  if (form == 5) {  // controllers that send each signal at its own rate, into one table
    base.sampling = Sampling::own_rates;
    base.rate_hz = random.log_uniform(20.0, 200.0);
    base.channels = all;
    static constexpr std::array<double, 4> divisors{1.0, 2.0, 5.0, 10.0};
    for (std::size_t i = 0; i < all.size(); ++i)
      base.own_rates_hz.push_back(base.rate_hz /
                                  (all[i].quantity == QuantityKind::wheel_speed
                                       ? divisors[random.chance(0.7) ? 0 : 1]
                                       : random.pick(std::span<const double>(divisors))));
    return {base};
  }
  // A slow single link: fronts, rears, wheel speeds in three runs (trade practice).
  base.sampling = random.chance(0.5) ? Sampling::turns_repeat : Sampling::turns_blank;
  base.rate_hz = random.log_uniform(5.0, 60.0);
  Recorder fronts = base, rears = base, wheels = base;
  for (const Role& role : outlet_roles(c.unit))
    (role.place == PlaceKind::corner && is_front(role.corner) ? fronts : rears)
        .channels.push_back(role);
  fronts.channels.push_back(speed);
  rears.channels.push_back(Role::at(QuantityKind::wheel_speed, Corner::fl));
  wheels.channels = wheel_speeds(c.unit);
  return {fronts, rears, wheels};
}

}  // namespace stopledger::model
