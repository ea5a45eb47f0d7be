#pragma once

#include <cmath>
#include <stdexcept>

#include "log/log.h"

namespace stopledger::test {

/// A log made by hand: four wheels and valves at 50 Hz, all quiet, to be changed by a test.
struct HandMade {
  static constexpr double step = 0.02;
  Log log;

  HandMade(double v0, double decel, double roll_s, double end_s) {
    log.file = "hand.csv";
    log.duration_s = end_s;
    log.segments = {{0.0, end_s}};
    for (const Corner corner : all_corners) add(Role::at(QuantityKind::wheel_speed, corner));
    for (const Corner corner : all_corners) add(Role::at(QuantityKind::inlet, corner));
    for (const Corner corner : all_corners) add(Role::at(QuantityKind::outlet, corner));
    for (double t = 0.0; t <= end_s; t += step) {
      const double v = std::max(0.0, t < roll_s ? v0 : v0 - decel * (t - roll_s));
      for (Channel& channel : log.channels) {
        channel.series.t_s.push_back(t);
        channel.series.value.push_back(channel.role.quantity == QuantityKind::wheel_speed ? v
                                                                                          : 0.0);
      }
    }
    for (Channel& channel : log.channels) channel.samples = channel.series.size();
  }
  void add(const Role& role) {
    Channel channel;
    channel.role = role;
    channel.column = role_name(role);
    channel.rate_hz = 1.0 / step;
    log.channels.push_back(channel);
  }
  Series& at(const Role& role) {
    for (Channel& channel : log.channels)
      if (channel.role == role) return channel.series;
    throw std::logic_error("no such channel");
  }
  /// Sets a state between two times.
  void set(const Role& role, double from, double to, double value) {
    Series& series = at(role);
    for (std::size_t i = 0; i < series.size(); ++i)
      if (series.t_s[i] >= from - 1e-9 && series.t_s[i] < to - 1e-9) series.value[i] = value;
  }
  /// Pulls a wheel down by `depth` (share of its speed) over [from, to], as a half wave.
  void dip(Corner corner, double from, double to, double depth) {
    Series& series = at(Role::at(QuantityKind::wheel_speed, corner));
    for (std::size_t i = 0; i < series.size(); ++i) {
      const double t = series.t_s[i];
      if (t > from && t < to)
        series.value[i] *= 1.0 - depth * std::sin(3.14159265 * (t - from) / (to - from));
    }
  }
  /// Lets a wheel stop for good from `t` on, within 0.15 s.
  void lock(Corner corner, double t) {
    Series& series = at(Role::at(QuantityKind::wheel_speed, corner));
    for (std::size_t i = 0; i < series.size(); ++i)
      if (series.t_s[i] > t) series.value[i] *= std::max(0.0, 1.0 - (series.t_s[i] - t) / 0.15);
  }
  /// One healthy cycle: slip from `t`, inlet shut and outlet open at its rise, recovery, re-apply.
  void cycle(Corner corner, double t, double depth = 0.25) {
    dip(corner, t, t + 0.24, depth);
    set(Role::at(QuantityKind::inlet, corner), t + 0.06, t + 0.18, 1.0);
    set(Role::at(QuantityKind::outlet, corner), t + 0.08, t + 0.14, 1.0);
  }
};

}  // namespace stopledger::test
