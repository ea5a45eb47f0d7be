#pragma once

#include <string>

#include "log/reader.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "model/simulate.h"

namespace stopledger::test {

/// A straight stop of an invented car on the forward model, to be changed as a test needs.
inline model::Case stop_case(model::Surface surface, double speed_kmh = 40.0) {
  model::Case c;
  c.ground = {{{surface}, {surface}}};
  c.manoeuvre = model::straight_stop(speed_kmh / 3.6, 3.0, 9000.0, 2.0);
  return c;
}

inline std::vector<Role> all_roles(const model::Case& c) {
  std::vector<Role> roles = model::wheel_speed_roles();
  for (const Role& role : model::valve_roles(c.unit)) roles.push_back(role);
  roles.push_back(Role::of_car(QuantityKind::pump));
  roles.push_back(Role::of_car(QuantityKind::brake_switch));
  return roles;
}

inline model::Recorder block_recorder(const model::Case& c, double rate_hz) {
  model::Recorder recorder;
  recorder.channels = all_roles(c);
  recorder.rate_hz = rate_hz;
  recorder.noise = 0.002;
  return recorder;
}

/// What the reader makes of that recorder's export.
inline Log recorded(const model::Case& c, const model::Recorder& recorder, std::uint64_t seed = 5) {
  const model::Run run = model::simulate(c, seed);
  ReadOptions options;
  options.car = model::car_facts(c);
  return read_log_text(model::record_run(run, c, recorder, seed + 1).text, "modelled.csv", options);
}

}  // namespace stopledger::test
