// Which way wheels parted, and how much noise a speed carries.
#include "signal/wheels_apart.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "model/random.h"
#include "signal/reference_speed.h"
#include "verify/prepared_log.h"

using namespace stopledger;

namespace {

/// Pulls away at 1.5 m/s2 to 12 m/s, rolls to 10 s, stops at 4 m/s2.
double launched_car(double t) {
  return std::max(0.0, t < 1.0    ? 0.0
                       : t < 9.0  ? 1.5 * (t - 1.0)
                       : t < 10.0 ? 12.0
                                  : 12.0 - 4.0 * (t - 10.0));
}

/// Four wheels of that car at 50 Hz, the front ones 5 m/s faster from 1 s to `spin_end_s`.
std::vector<WheelTrace> launched(double spin_end_s, double noise_mps, std::uint64_t seed) {
  model::Random random(seed);
  std::vector<WheelTrace> traces(4);
  for (std::size_t k = 0; k < 4; ++k)
    for (double t = 0.0; t <= 13.5; t += 0.02) {
      const bool spins = k < 2 && t > 1.0 && t < spin_end_s;
      const double spin = spins ? 5.0 * std::min(1.0, (t - 1.0) / 0.3) : 0.0;
      const double v = launched_car(t) + spin;
      traces[k].t_s.push_back(t);
      traces[k].v_mps.push_back(v > 0.5 ? v + random.normal(0.0, noise_mps) : v);
    }
  return traces;
}

std::vector<CarWitness::Span> pedal_of_stop() { return {{0.0, 0.95}, {10.0, 13.5}}; }

}  // namespace

TEST_CASE("wheels that spun before a stop do not lead the car through it, with noise",
          "[signal][apart]") {
  CarWitness witness;
  witness.pedal_known = true;
  witness.pedal = pedal_of_stop();
  for (std::uint64_t seed = 1; seed <= 8; ++seed)
    for (const double noise_mps : {0.02, 0.1, 0.2}) {
      const auto wheels = launched(8.5, noise_mps, seed);
      const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 13.5, witness);
      INFO(seed << " noise " << noise_mps);
      // Within the noise of four wheels and 3 % while the front wheels run 5 m/s ahead; the stop
      // is the car's own.
      for (double t = 2.5; t < 8.3; t += 0.5)
        CHECK(reference.at(t) == Approx(launched_car(t)).margin(0.35));
      for (double t = 10.5; t < 12.6; t += 0.3)
        CHECK(reference.at(t) == Approx(launched_car(t)).margin(0.35));
    }
}

TEST_CASE("from standstill wheels part by spinning only, though the pedal is still on",
          "[signal][apart]") {
  CarWitness witness;
  witness.pedal_known = true;
  witness.pedal = {{0.0, 1.3}, {10.0, 13.5}};  // let go late: 0.3 s after the wheels began to spin
  const auto wheels = launched(3.0, 0.02, 5);
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 13.5, witness);
  for (double t = 1.6; t < 2.9; t += 0.2)
    CHECK(reference.at(t) == Approx(launched_car(t)).margin(0.35));
}

TEST_CASE("the noise of a coarse speed is neither its steps nor none", "[verify][noise]") {
  model::Random random(11);
  const auto noise_of = [&](double noise_mps, double step_mps) {
    Log log;
    log.duration_s = 20.0;
    log.segments = {{0.0, 20.0}};
    for (const Corner corner : all_corners) {
      Channel channel;
      channel.role = Role::at(QuantityKind::wheel_speed, corner);
      channel.rate_hz = 50.0;
      if (step_mps > 0.0) channel.quantum = step_mps;
      for (int i = 0; i <= 1000; ++i) {
        const double v = 8.0 + 0.2 * 0.02 * i + random.normal(0.0, noise_mps);
        channel.series.t_s.push_back(0.02 * i);
        channel.series.value.push_back(step_mps > 0.0 ? std::round(v / step_mps) * step_mps : v);
      }
      channel.samples = channel.series.size();
      log.channels.push_back(channel);
    }
    return prepare_log(log, 0, {}).wheels[Corner::fl].noise_mps;
  };
  // Fine speeds: the noise itself, within a tenth (1,000 looks).
  CHECK(noise_of(0.1, 0.0) == Approx(0.1).epsilon(0.1));
  // Steps of 1 km/h without noise: a quarter of a step, by definition of a rounding error.
  const double step = 1.0 / 3.6;
  CHECK(noise_of(0.0, step) == Approx(step / 4.0).epsilon(0.25));
  // Steps and noise of half a step: the two together, root of the sum of squares.
  CHECK(noise_of(0.5 * step, step) == Approx(std::hypot(0.5 * step, step / 4.0)).epsilon(0.25));
}
