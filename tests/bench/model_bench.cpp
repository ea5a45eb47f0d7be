// How many complete four-wheel stops of 4 s at 1 kHz the forward model does in a minute on one
// core. Wanted: 2,000.  build/bench_model [SECONDS]

#include <chrono>
#include <cstdio>
#include <cstdlib>

#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "model/simulate.h"
#include "model/truth.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

/// A stop whose run lasts 4 s: rolling, controlled to standstill, standing.
Case four_seconds() {
  Case c;
  c.manoeuvre.start_mps = 50.0 / 3.6;
  c.manoeuvre.phases = {{.duration_s = 1.0, .keep_speed_mps = 50.0 / 3.6},
                        {.duration_s = 3.0, .pedal_kpa = 11e3}};
  return c;
}

template <typename Job>
void measure(const char* what, double seconds, Job job) {
  long stops = 0;
  const double start = now_s();
  double spent = 0.0;
  while (spent < seconds) {
    job(static_cast<std::uint64_t>(++stops));
    spent = now_s() - start;
  }
  const double per_minute = 60.0 * static_cast<double>(stops) / spent;
  std::printf("%-34s %8.0f stops a minute, %6.0f times real time\n", what, per_minute,
              per_minute * 4.0 / 60.0);
}

}  // namespace

int main(int argc, char** argv) {
  const double seconds = argc > 1 ? std::atof(argv[1]) : 5.0;
  const Case c = four_seconds();
  Recorder recorder;
  recorder.rate_hz = 20.0;
  recorder.channels = wheel_speed_roles();
  for (const Role& role : valve_roles(c.unit)) recorder.channels.push_back(role);
  double keep = 0.0;  // so that nothing is optimised away
  measure("simulate", seconds,
          [&](std::uint64_t seed) { keep += simulate(c, seed).frames.back().way_m; });
  measure("simulate + truth", seconds,
          [&](std::uint64_t seed) { keep += find_truth(simulate(c, seed), c).pump_turned_s; });
  measure("simulate + truth + 20 Hz log", seconds, [&](std::uint64_t seed) {
    const Run run = simulate(c, seed);
    keep += find_truth(run, c).pump_turned_s +
            static_cast<double>(record_run(run, c, recorder, seed).rows);
  });
  return keep > 0.0 ? 0 : 1;
}
