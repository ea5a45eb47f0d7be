#include "plan/promise.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "model/random.h"
#include "model/scenario.h"
#include "model/simulate.h"
#include "plan/session.h"

namespace stopledger {
namespace {

struct Setting {
  const char* surface;
  double kmh;
  const char* recorder;
};

constexpr std::array settings{
    Setting{"wet", 40, "30/s"},
    Setting{"gravel", 30, "5/s each"},
    Setting{"snow", 30, "8/s"},
    Setting{"wet", 40, "15/s"},
    Setting{"wet", 40, "10/s block"},
    Setting{"wet", 30, "12/s each max 4"},
    Setting{"gravel", 40, "8/s"},
    Setting{"wet-cobble", 30, "10/s"},
    Setting{"wet", 40, "20/s each"},
    Setting{"snow", 30, "30/s"},
    Setting{"wet-cobble", 40, "15/s each"},
};

// When a recorder reads each of its columns: in turn or all together, with jitter.
std::vector<double> read_times(model::Random& random, const RunKind& kind, const Recorder& recorder,
                               std::size_t column, double until_s) {
  const bool in_turn = recorder.kind == Recorder::Kind::total;
  const double step = in_turn ? 1.0 / recorder.rate_hz : kind.interval_s;
  const std::size_t every = in_turn ? kind.columns.size() : 1;
  std::vector<double> times;
  std::size_t turn = 0;
  const double spread = std::sqrt(3.0) * recorder.jitter;
  for (double t = random.uniform(-2.0 * kind.interval_s, 0.0); t < until_s; ++turn) {
    if (turn % every == column % every && t >= 0.0) times.push_back(t);
    t += step * (1.0 + random.uniform(-spread, spread));
  }
  return times;
}

constexpr double same_release_s = 0.03;  // outlet pulses this near are one release (model/truth.h)

struct Releases {
  int happened = 0, read = 0;
};

// Releases of that place, and those that hold one of the reads.
Releases count_releases(const model::Run& run, const Role& role, const std::vector<double>& times) {
  const Corner corner = role.place == PlaceKind::corner ? role.corner : Corner::rl;
  Releases count;
  int last_read = 0;
  std::size_t next = 0;
  bool on = false;
  double off_s = -1.0;
  for (const model::Frame& frame : run.frames) {
    const bool now = frame.outlet[corner] > 0.5;
    if (now && !on && (off_s < 0.0 || frame.t_s - off_s > same_release_s)) ++count.happened;
    if (!now && on) off_s = frame.t_s;
    on = now;
    for (; next < times.size() && times[next] <= frame.t_s; ++next)
      if (on && last_read != count.happened) {
        ++count.read;
        last_read = count.happened;
      }
  }
  return count;
}

PromiseTally keep(const Setting& setting, int sessions, model::Random& random) {
  CarFacts facts;
  facts.unit_kind = UnitKind::two_valve;
  facts.channels = 4;
  const Ground ground = *find_ground(setting.surface);
  const Recorder recorder = parse_recorder(setting.recorder);
  // What stop-fronts and stop-rears ask for; one release where the session is too short for that.
  auto looks = session_looks(facts, forecast_run(facts, ground, from_kmh(setting.kmh), 80, 1),
                             {{3, 3, 2, 2}});
  // The valves' releases are the promise about the recorder; answers hang on the rate alone.
  std::erase_if(looks, [](const Look& l) { return l.role.quantity == QuantityKind::wheel_speed; });
  const RecordingAim aim{.most_stops = 11, .of_those_that_do = true};
  RecordingPlan plan = plan_recording(looks, recorder, aim);
  if (!plan.reached) {
    for (Look& look : looks) look.needed = 1;
    plan = plan_recording(looks, recorder, aim);
  }

  PromiseTally tally{.setting = std::string(setting.surface) + ", " +
                                std::to_string(static_cast<int>(setting.kmh)) + " km/h, " +
                                setting.recorder + ", " + std::to_string(looks.front().needed) +
                                " wanted, " + std::to_string(plan.stops()) + " stops"};
  std::vector<std::size_t> promised;
  for (std::size_t i = 0; i < looks.size(); ++i)
    if (plan.chances[i] >= plan.aims[i]) promised.push_back(i);
  if (promised.empty()) return tally;
  tally.promised = 1.0;
  for (const std::size_t i : promised) {
    const double among_those = plan.chances[i] / look_ceiling(looks[i]);
    tally.promised = std::min(tally.promised, among_those);
    tally.expected += among_those / static_cast<double>(promised.size());
  }
  for (int s = 0; s < sessions; ++s) {
    model::Case c;
    c.car = model::draw_car(random, facts);
    c.unit = model::draw_unit(random, c.car, facts);
    c.controller = model::draw_controller(random, model::Split::judging, c.unit, facts);
    const model::Grip grip = model::draw_grip(random, *model::parse_surface(setting.surface));
    c.ground = {{grip, grip}};
    std::vector<Releases> seen(looks.size());
    for (const RunKind& kind : plan.runs)
      for (int stop = 0; stop < kind.stops; ++stop) {
        c.manoeuvre = model::straight_stop(setting.kmh / 3.6, 0.3, random.uniform(8e3, 13e3), 0.05);
        const model::Run run = model::simulate(c, random.next_seed());
        for (std::size_t column = 0; column < kind.columns.size(); ++column)
          for (const std::size_t i : kind.looks)
            if (looks[i].role == kind.columns[column]) {
              const Releases here = count_releases(
                  run, looks[i].role, read_times(random, kind, recorder, column, run.duration_s()));
              seen[i].happened += here.happened;
              seen[i].read += here.read;
            }
      }
    ++tally.sessions;
    for (const std::size_t i : promised) {
      // Promised is what the recorder catches of what happens.
      if (seen[i].happened == 0) continue;
      ++tally.looks;
      tally.seen += seen[i].read >= looks[i].needed ? 1 : 0;
    }
  }
  return tally;
}

}  // namespace

std::vector<PromiseTally> keep_promises(int sessions, std::uint64_t seed, std::size_t most) {
  model::Random random(seed);
  std::vector<PromiseTally> tallies;
  for (std::size_t i = 0; i < std::min(most, settings.size()); ++i)
    tallies.push_back(keep(settings[i], sessions, random));
  return tallies;
}

}  // namespace stopledger
