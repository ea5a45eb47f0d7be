// From which rate on, and with how many stops, does the check see the wheels answer? Healthy cars
// of the judging split; all outlets and wheel speeds read together. Sessions per line as argument
// (12):
//   build/release/answer_rates 12
// The figures in src/plan/ground.cpp (`answer_rate_hz`) come from its output.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

#include "log/reader.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "verify/check.h"

namespace {

using namespace stopledger;

int exercised(model::Random& random, const CarFacts& facts, model::Surface surface, double rate_hz,
              int stops) {
  model::Case c;
  c.car = model::draw_car(random, facts);
  c.unit = model::draw_unit(random, c.car, facts);
  c.controller = model::draw_controller(random, model::Split::judging, c.unit, facts);
  const model::Grip grip = model::draw_grip(random, surface);
  c.ground = {{grip, grip}};
  c.manoeuvre = model::straight_stop(40.0 / 3.6, 3.0, 10e3, 2.0);
  model::Recorder recorder;
  recorder.channels = model::wheel_speed_roles();
  for (const Role& role : model::outlet_roles(c.unit)) recorder.channels.push_back(role);
  recorder.rate_hz = rate_hz;
  recorder.jitter = 0.1;
  ReadOptions reading;
  reading.car = facts;
  std::vector<Log> logs;
  for (int stop = 0; stop < stops; ++stop) {
    const model::Run run = model::simulate(c, random.next_seed());
    logs.push_back(read_log_text(model::record_run(run, c, recorder, random.next_seed()).text,
                                 "run.csv", reading));
  }
  const CheckOutcome outcome = check_logs(logs, facts, nullptr);
  int count = 0;
  for (const Corner corner : all_corners)
    count += outcome.corners[corner].result == Result::exercised ? 1 : 0;
  return count;
}

}  // namespace

int main(int argc, char** argv) {
  const int sessions = argc > 1 ? std::max(1, std::atoi(argv[1])) : 12;
  CarFacts facts;
  facts.unit_kind = UnitKind::two_valve;
  facts.channels = 4;
  fmt::print("share of corners exercised, 40 km/h; stops 1, 2, 3\n");
  for (const char* surface : {"wet", "dry", "gravel", "wet-cobble", "snow"})
    for (const double rate_hz : {7.0, 10.0, 15.0, 20.0, 25.0, 30.0, 50.0}) {
      fmt::print("{:<12}{:>4.0f}/s", surface, rate_hz);
      for (const int stops : {1, 2, 3}) {
        model::Random random(5);
        int count = 0;
        for (int i = 0; i < sessions; ++i)
          count += exercised(random, facts, *model::parse_surface(surface), rate_hz, stops);
        fmt::print("{:>7.2f}", count / (4.0 * sessions));
      }
      fmt::print("\n");
    }
  return 0;
}
