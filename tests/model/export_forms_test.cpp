// Every text form that the recorder model writes is read back to the values that went in.

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <string>

#include "log/reader.h"
#include "model/packed.h"
#include "model/scenario.h"
#include "model/signals.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

struct Form {
  const char* name;
  std::function<void(Recorder&)> apply;
};

const Role front_left = Role::at(QuantityKind::wheel_speed, Corner::fl);
const Role front_left_outlet = Role::at(QuantityKind::outlet, Corner::fl);

Recorder stop_recorder() {
  Recorder r;
  r.rate_hz = 50.0;
  r.channels = wheel_speed_roles();
  for (const Role& role : valve_roles(Unit{})) r.channels.push_back(role);
  for (QuantityKind q : {QuantityKind::yaw_rate, QuantityKind::steering_angle,
                         QuantityKind::accel_long, QuantityKind::master_pressure})
    r.channels.push_back(Role::of_car(q));
  return r;
}

const Channel* channel_of(const Log& log, const Role& role) {
  for (const Channel& channel : log.channels)
    if (channel.role == role) return &channel;
  return nullptr;
}

/// Largest difference between a channel and the truth at its stamps.
double worst_error(const Log& log, const Run& run, const Recording& recording, const Role& role) {
  const Channel* channel = channel_of(log, role);
  REQUIRE(channel);
  REQUIRE(channel->series.size() > 20);
  double worst = 0.0;
  for (std::size_t i = 0; i < channel->series.size(); ++i) {
    // Stamps are rounded to the millisecond, the frames are a millisecond apart.
    const double at = channel->series.t_s[i] + recording.first_s;
    double least = 1e9;
    for (int around = -1; around <= 1; ++around) {
      const auto frame =
          static_cast<std::size_t>(std::max(std::lround(at / run.step_s) + around, 0L));
      if (frame >= run.frames.size()) continue;
      least =
          std::min(least, std::abs(channel->series.value[i] - true_value(run.frames[frame], role)));
    }
    worst = std::max(worst, least);
  }
  return worst;
}

}  // namespace

TEST_CASE("what a form of export says is what the reader reads", "[model][recorder][log]") {
  const std::vector<Form> forms{
      {"as it stands", [](Recorder&) {}},
      {"byte order mark", [](Recorder& r) { r.encoding = Encoding::utf8_marked; }},
      {"UTF-16 LE", [](Recorder& r) { r.encoding = Encoding::utf16_le; }},
      {"UTF-16 BE, degree sign",
       [](Recorder& r) { r.encoding = Encoding::utf16_be, r.degree_sign = true; }},
      {"Latin-1, degree sign",
       [](Recorder& r) { r.encoding = Encoding::latin1, r.degree_sign = true; }},
      {"milliseconds", [](Recorder& r) { r.time_text = TimeText::milliseconds; }},
      {"clock over midnight",
       [](Recorder& r) { r.time_text = TimeText::clock, r.clock_offset_s = 86398.0; }},
      {"12-hour clock over noon",
       [](Recorder& r) { r.time_text = TimeText::clock_12h, r.clock_offset_s = 43198.0; }},
      {"date and time in one cell", [](Recorder& r) { r.time_text = TimeText::date_time; }},
      {"date and clock in two columns",
       [](Recorder& r) { r.time_text = TimeText::date_and_clock, r.clock_offset_s = 86398.0; }},
      {"a time column for every value", [](Recorder& r) { r.time_per_value = true; }},
      {"in turns, a time for every value",
       [](Recorder& r) {
         r.sampling = Sampling::turns_repeat, r.rate_hz = 400.0, r.time_per_value = true;
       }},
      {"in turns, blanks",
       [](Recorder& r) { r.sampling = Sampling::turns_blank, r.rate_hz = 400.0; }},
      {"semicolons and decimal commas, a unit row",
       [](Recorder& r) { r.delimiter = ';', r.decimal_comma = true, r.units_row = true; }},
      {"tabs, CRLF, trailing delimiter, preamble",
       [](Recorder& r) {
         r.delimiter = '\t', r.crlf = true, r.trailing_delimiter = true, r.preamble_lines = 3;
       }},
      {"miles, psi, g",
       [](Recorder& r) {
         r.speed_unit = SpeedUnit::mph, r.pressure_unit = PressureUnit::psi;
         r.acceleration_in_g = true;
       }},
      {"turns a minute", [](Recorder& r) { r.speed_unit = SpeedUnit::rpm; }},
      {"pulses a second", [](Recorder& r) { r.speed_unit = SpeedUnit::hz, r.ring_teeth = 43.0; }},
      {"valves and pump as the bits of a number",
       [](Recorder& r) {
         r.pack_valves = true, r.channels.push_back(Role::of_car(QuantityKind::pump));
       }},
      {"valves as hexadecimal bits, words elsewhere",
       [](Recorder& r) { r.pack_valves = true, r.state_text = StateText::on_off; }},
      {"metres a second", [](Recorder& r) { r.speed_unit = SpeedUnit::mps; }},
      {"words On and Off", [](Recorder& r) { r.state_text = StateText::on_off; }},
      {"words of position", [](Recorder& r) { r.state_text = StateText::open_closed; }},
      {"duty in percent", [](Recorder& r) { r.state_text = StateText::percent; }},
      {"short codes", [](Recorder& r) { r.wording = model::Wording::compact; }},
      {"spoken names", [](Recorder& r) { r.wording = model::Wording::spoken; }},
      {"names by seat, wheel on the left", [](Recorder& r) { r.wording = model::Wording::seats; }},
      {"names by seat, wheel on the right",
       [](Recorder& r) { r.wording = model::Wording::seats, r.wheel = SteeringSide::right; }},
      {"role names", [](Recorder& r) { r.wording = model::Wording::roles, r.units_row = true; }},
      {"rows out of order", [](Recorder& r) { r.swapped_share = 0.05; }},
      {"cut last line", [](Recorder& r) { r.cut_last_line = true; }}};
  Case c;
  c.manoeuvre = straight_stop(50.0 / 3.6, 2.0, 11e3, 1.0);
  const Run run = simulate(c, 1);
  for (const Form& form : forms) {
    Recorder r = stop_recorder();
    form.apply(r);
    ReadOptions options;
    options.car = car_facts(c);
    options.car.steering_side = r.wheel;
    options.car.sensor_teeth = r.ring_teeth;
    const ChannelMap map = packed_map(r);
    if (r.pack_valves) options.map = &map;
    const Recording recording = record_run(run, c, r, 1);
    const Log log = read_log_text(recording.text, "form.csv", options);
    INFO(form.name << "\n" << recording.text.substr(0, 400));
    for (const Role& role : r.channels) {
      INFO(role_name(role));
      CHECK(channel_of(log, role));
    }
    // Two decimals of the coarsest unit (mph, 0.45 m/s) and the change within a stamp's rounding.
    CHECK(worst_error(log, run, recording, front_left) < 0.02);
    CHECK(worst_error(log, run, recording, front_left_outlet) < 0.02);
    CHECK(worst_error(log, run, recording, Role::of_car(QuantityKind::accel_long)) < 0.2);
  }
}

TEST_CASE("counts of pulses are read back as speeds, whatever they wrap at",
          "[model][recorder][log]") {
  Case c;
  c.manoeuvre = straight_stop(50.0 / 3.6, 2.0, 11e3, 1.0);
  const Run run = simulate(c, 1);
  for (const int bits : {8, 16})
    for (const double teeth : {43.0, 48.0})
      for (const double rate : {10.0, 50.0}) {
        Recorder r = stop_recorder();
        r.rate_hz = rate;
        r.speed_unit = SpeedUnit::pulses;
        r.ring_teeth = teeth;
        r.counter_bits = bits;
        ReadOptions options;
        options.car = car_facts(c);
        options.car.sensor_teeth = teeth;
        const Recording recording = record_run(run, c, r, 1);
        const Log log = read_log_text(recording.text, "pulses.csv", options);
        INFO(bits << " bits, " << teeth << " teeth, " << rate << " Hz\n"
                  << recording.text.substr(0, 300));
        for (const Role& role : wheel_speed_roles()) {
          const Channel* channel = channel_of(log, role);
          REQUIRE(channel);
          REQUIRE(channel->series.size() > 20);
          CHECK(channel->unit_known);
          // The mean speed between two reads is known to one pulse; the distance to one in all.
          const double pulse_m = 2.0 * 3.14159265 * *options.car.rolling_radius_m / teeth;
          double metres = 0.0, worst = 0.0;
          const auto& series = channel->series;
          for (std::size_t i = 0; i < series.size(); ++i) {
            const double at = series.t_s[i] + recording.first_s, half = 0.5 / rate;
            double mean = 0.0;
            int n = 0;
            for (double t = at - half; t < at + half; t += run.step_s) {
              const auto frame = static_cast<std::size_t>(std::max(0.0, t) / run.step_s);
              if (frame >= run.frames.size()) continue;
              mean += true_value(run.frames[frame], role);
              ++n;
            }
            worst = std::max(worst, std::abs(series.value[i] - mean / std::max(n, 1)));
            if (i > 0)
              metres += 0.5 * (series.value[i] + series.value[i - 1]) *
                        (series.t_s[i] - series.t_s[i - 1]);
          }
          CHECK(worst < pulse_m * rate + 0.25);
          double truth = 0.0;
          for (const auto& frame : run.frames)
            if (frame.t_s >= series.t_s.front() + recording.first_s &&
                frame.t_s < series.t_s.back() + recording.first_s)
              truth += true_value(frame, role) * run.step_s;
          CHECK(metres == Approx(truth).margin(2.0 * pulse_m + 0.1));
        }
      }
}

TEST_CASE("a channel of its own slow rate is renewed at that rate", "[model][recorder][log]") {
  Case c;
  c.manoeuvre = straight_stop(50.0 / 3.6, 2.0, 11e3, 1.0);
  Recorder r = stop_recorder();
  r.sampling = Sampling::own_rates;
  r.own_rates_hz.assign(r.channels.size(), 10.0);
  r.own_rates_hz[0] = 50.0;
  const Log log = read_log_text(record_run(simulate(c, 1), c, r, 1).text, "own.csv", {});
  REQUIRE(channel_of(log, front_left));
  CHECK(channel_of(log, front_left)->rate_hz.value_or(0.0) == Approx(50.0).epsilon(0.1));
  const Channel* slow = channel_of(log, Role::at(QuantityKind::wheel_speed, Corner::rr));
  REQUIRE(slow);
  CHECK(slow->rate_hz.value_or(0.0) == Approx(10.0).epsilon(0.15));
}

TEST_CASE("a satellite speed is late by its lag and steps once a second", "[model][recorder]") {
  Case c;
  c.manoeuvre = straight_stop(60.0 / 3.6, 3.0, 11e3, 3.0);
  Recorder r;
  r.rate_hz = 10.0;
  r.satellite_lag_s = 1.0;
  r.channels = {Role::of_car(QuantityKind::satellite_speed), front_left};
  const Log log = read_log_text(record_run(simulate(c, 1), c, r, 1).text, "late.csv", {});
  const Channel* late = channel_of(log, Role::of_car(QuantityKind::satellite_speed));
  const Channel* wheel = channel_of(log, front_left);
  REQUIRE((late && wheel));
  const auto below = [](const Series& s, double mps) {
    for (std::size_t i = 0; i < s.size(); ++i)
      if (s.value[i] < mps) return s.t_s[i];
    return -1.0;
  };
  // Where the reader put the speed back in time, it says by how much.
  const double delay = below(late->series, 8.0) - below(wheel->series, 8.0) - late->read_skew_s;
  CHECK(delay > 0.9);
  CHECK(delay < 2.6);  // its lag, up to a second until the next step, and the wheel's own slip
}
