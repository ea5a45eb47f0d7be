// What the plan promises is what the check then finds: planned, driven in the simulator, recorded
// with the columns of the plan, judged by the procedures.
#include <catch2/catch.hpp>

#include "log/reader.h"
#include "model/random.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "plan/session.h"
#include "plan/session_recording.h"
#include "procedure/library.h"
#include "verify/check.h"

using namespace stopledger;

namespace {

struct Followed {
  RecordingPlan recording;
  std::vector<Log> logs;
  PerCorner<int> released{};  ///< frames with the outlet open, over all stops
};

Followed follow(const char* surface, double kmh, const char* recorder_text, std::uint64_t seed) {
  CarFacts facts;
  facts.unit_kind = UnitKind::two_valve;
  facts.channels = 4;
  const Ground ground = *find_ground(surface);
  const Recorder budget = parse_recorder(recorder_text);
  std::vector<Look> looks =
      session_looks(facts, forecast_run(facts, ground, from_kmh(kmh), 60, 1), {{3, 3, 2, 2}});
  std::erase_if(looks, [](const Look& l) { return l.role.quantity == QuantityKind::wheel_speed; });
  Followed followed;
  followed.recording = plan_recording(looks, budget, {.most_stops = 11, .of_those_that_do = true});
  model::Random random(seed);
  model::Case c;
  c.car = model::draw_car(random, facts);
  c.unit = model::draw_unit(random, c.car, facts);
  c.controller = model::draw_controller(random, model::Split::judging, c.unit, facts);
  const model::Grip grip = model::draw_grip(random, *model::parse_surface(surface));
  c.ground = {{grip, grip}};
  for (const RunKind& kind : followed.recording.runs)
    for (int stop = 0; stop < kind.stops; ++stop) {
      c.manoeuvre = model::straight_stop(kmh / 3.6, 3.0, random.uniform(8e3, 13e3), 2.0);
      const model::Run run = model::simulate(c, random.next_seed());
      model::Recorder recorder;
      recorder.channels = kind.columns;
      recorder.sampling = budget.kind == Recorder::Kind::total ? model::Sampling::turns_blank
                                                               : model::Sampling::block;
      recorder.rate_hz = budget.rate_hz;
      recorder.jitter = budget.jitter;
      ReadOptions reading;
      reading.car = model::car_facts(c);
      followed.logs.push_back(read_log_text(
          model::record_run(run, c, recorder, random.next_seed()).text, "run.csv", reading));
      for (const model::Frame& frame : run.frames)
        for (const Corner corner : all_corners)
          followed.released[corner] += frame.outlet[corner] > 0.5 ? 1 : 0;
    }
  return followed;
}

}  // namespace

TEST_CASE("the stops ask for what their plan aims at", "[plan][recording]") {
  const auto procedures = load_procedures();
  RouteChoice route;
  route.steps = {{"stop-fronts", 0, 0, false, ""},
                 {"stop-rears", 0, 0, false, ""},
                 {"traction-start", 0, 0, true, ""}};
  CHECK(releases_asked(route, procedures) == PerCorner<int>{{3, 3, 2, 2}});
  CHECK(releases_asked({}, procedures) == PerCorner<int>{{1, 1, 1, 1}});
}

TEST_CASE("logs of a followed plan are enough for its procedures", "[plan][promise]") {
  const Procedure fronts = find_procedure("stop-fronts"), rears = find_procedure("stop-rears");
  int asked = 0, enough = 0;
  for (const auto& [surface, kmh, recorder] :
       {std::tuple{"wet", 40.0, "20/s each"}, std::tuple{"snow", 30.0, "30/s"},
        std::tuple{"wet-cobble", 40.0, "15/s each"}})
    for (std::uint64_t seed = 1; seed <= 4; ++seed) {
      const Followed followed = follow(surface, kmh, recorder, seed);
      REQUIRE(followed.recording.reached);
      CarFacts car;
      car.unit_kind = UnitKind::two_valve;
      car.channels = 4;
      const CheckOutcome front = check_logs(followed.logs, car, &*fronts.expectation);
      const CheckOutcome rear = check_logs(followed.logs, car, &*rears.expectation);
      for (const Corner corner : all_corners) {
        // A rear wheel that the control leaves alone on this ground has nothing to show.
        if (followed.released[corner] == 0) continue;
        ++asked;
        const CornerOutcome& one = (is_front(corner) ? front : rear).corners[corner];
        enough += one.enough == true ? 1 : 0;
        if (one.enough != true)
          UNSCOPED_INFO(surface << " " << seed << " " << corner_name(corner) << ": " << one.reason);
      }
    }
  INFO(enough << " of " << asked);
  REQUIRE(asked >= 40);
  CHECK(static_cast<double>(enough) >= 0.9 * asked);  // promised 0.95; all 48 when written
}
