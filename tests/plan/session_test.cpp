// What a session is made of, and everything that forbids one.
#include "plan/session.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>
#include <set>

#include "base/error.h"
#include "model/tyre.h"
#include "procedure/library.h"
#include "report/plan_text.h"
#include "report/plan_words.h"

using namespace stopledger;

namespace {

Record fact(const char* kind, const char* day,
            std::vector<std::pair<const char*, const char*>> fields) {
  static std::int64_t id = 100;
  Record record;
  record.id = ++id;
  record.uid = "r" + std::to_string(id);
  record.kind = kind;
  record.day = *parse_day(day);
  for (const auto& [name, value] : fields) {
    record.fields[name].written = value;
    if (std::string_view(value) == "yes") record.fields[name].normalised = 1.0;
  }
  return record;
}

struct Example {
  CarSheet car;
  std::vector<Record> records;
  SessionRequest request;
};

// A car in order on a day in order: nothing stands in the way.
Example in_order() {
  Example example;
  CarSheet& car = example.car;
  car.facts.name = "grey-saloon";
  car.facts.unit_kind = UnitKind::two_valve;
  car.facts.channels = 4;
  car.facts.mass_kg = 1250.0;
  car.fluid_grade = "DOT 4";
  car.sheet["unit"].written = "two-valve";
  example.records = {fact("fluid-change", "2025-09-01", {{"grade", "DOT 4"}}),
                     fact("valve-test", "2025-09-10", {{"result", "pass"}}),
                     fact("roll-check", "2025-09-10", {{"result", "pass"}}),
                     fact("exercise", "2025-09-11", {{"result", "exercised"}}),
                     fact("after-run", "2025-09-11", {{"result", "clean"}})};
  SessionRequest& request = example.request;
  request.today = request.day = *parse_day("2026-05-16");
  request.lot_length = Metres(160.0);
  request.lot_width = Metres(40.0);
  request.recorder = parse_recorder("30/s each");
  request.permission = "club, 2026-05-01";
  request.draws = 8;  // what is checked here does not hang on the chances' third digit
  return example;
}

SessionPlan plan_of(const Example& example) {
  static const auto procedures = load_procedures();
  return plan_session(example.car, example.records, procedures, example.request);
}

}  // namespace

TEST_CASE("a car in order on a day in order may go", "[plan][session]") {
  const SessionPlan plan = plan_of(in_order());
  for (const Block& block : plan.blockers) INFO(block.id << ": " << block.reason);
  CHECK(plan.go());
  CHECK(plan.speed_kmh == 40.0);
  CHECK(plan.need.length_m() <= 160.0);
  // Slow cycles on a slippery surface are what such a recorder can follow.
  Example slippery = in_order();
  slippery.request.ground = *find_ground("wet-cobble");
  slippery.request.draws = 40;
  CHECK(plan_of(slippery).recording.reached);
}

TEST_CASE("every refusal names what forbids and what clears it", "[plan][refusal]") {
  struct Case {
    const char* what;
    std::function<void(Example&)> spoil;
    const char* block;
    const char* names;  // in the reason
    const char* clears;
  };
  const Case cases[]{
      {"no permission", [](Example& e) { e.request.permission.clear(); }, "permission",
       "no permission", "--permission"},
      {"lot too short", [](Example& e) { e.request.lot_length = Metres(30.0); }, "lot-too-short",
       "30 m", "longer"},
      {"lot too narrow", [](Example& e) { e.request.lot_width = Metres(6.0); }, "lot-too-short",
       "6 m", "wider"},
      {"wanted speed does not fit", [](Example& e) { e.request.speed = from_kmh(55.0); },
       "lot-too-short", "55 km/h", "--speed 40"},
      {"lot not measured", [](Example& e) { e.request.lot_length.reset(); }, "lot-unknown",
       "length", "--lot-length"},
      {"ice", [](Example& e) { e.request.ground = *find_ground("ice"); }, "surface", "ice",
       "another"},
      {"steep", [](Example& e) { e.request.lot.slope = -0.4; }, "slope", "slope", "level"},
      {"silicone on the sheet", [](Example& e) { e.car.fluid_grade = "DOT 5"; }, "fluid-grade",
       "silicone", "licensed"},
      {"silicone filled in",
       [](Example& e) {
         e.records.push_back(fact("fluid-change", "2026-01-01", {{"grade", "DOT 5"}}));
       },
       "fluid-grade", "2026-01-01", "licensed"},
      {"lamp on",
       [](Example& e) {
         e.records.push_back(
             fact("lamp-check", "2026-05-01", {{"result", "fail"}, {"codes", "21"}}));
       },
       "lamp", "2026-05-01", "lamp and code check"},
      {"leak",
       [](Example& e) {
         e.records.push_back(
             fact("level-check", "2026-05-01", {{"result", "fail"}, {"leaks", "yes"}}));
       },
       "leak", "2026-05-01", "repair"},
      {"overdue fluid",
       [](Example& e) {
         e.records[0] = fact("fluid-change", "2023-01-01", {{"grade", "DOT 4"}});
       },
       "before", "overdue", "fluid-change"},
      {"fluid of unknown age", [](Example& e) { e.records.erase(e.records.begin()); }, "before",
       "no record", "fluid-change"},
      {"open fault",
       [](Example& e) {
         e.records.push_back(fact("fault", "2026-03-03", {{"what", "RL slow"}}));
       },
       "fault", "RL slow", "repair"},
      {"earlier session not closed",
       [](Example& e) {
         e.records.push_back(fact("exercise", "2026-05-02", {{"result", "exercised"}}));
       },
       "after-run", "2026-05-02", "after-run"},
      {"unit kind unknown", [](Example& e) { e.car.facts.unit_kind = UnitKind::unknown; },
       "unit-kind", "unknown", "unit"},
      {"high-pressure store without a depressurising entry, and the system is to be opened",
       [](Example& e) {
         e.car.facts.unit_kind = UnitKind::high_pressure_store;
         e.records[0] = fact("fluid-change", "2024-06-01", {{"grade", "DOT 4"}});
       },
       "store", "emptying", "depress-count"},
      {"high-pressure store never tested",
       [](Example& e) { e.car.facts.unit_kind = UnitKind::high_pressure_store; }, "store", "store",
       "store-test"},
      {"dark before the work is done",
       [](Example& e) {
         e.request.place = GeoPlace{52.0, 10.0};
         e.request.utc_offset_min = 120;
         e.request.start_min = 20 * 60;
       },
       "dark", "sun sets", "arrive at"},
      {"dark in the morning",
       [](Example& e) {
         e.request.place = GeoPlace{52.0, 10.0};
         e.request.utc_offset_min = 120;
         e.request.start_min = 4 * 60;
       },
       "dark", "sun rises", "later"},
  };
  for (const Case& c : cases) {
    Example example = in_order();
    c.spoil(example);
    const SessionPlan plan = plan_of(example);
    INFO(c.what);
    CHECK_FALSE(plan.go());
    const auto hit =
        std::find_if(plan.blockers.begin(), plan.blockers.end(), [&](const Block& block) {
          return block.id == c.block && block.reason.find(c.names) != std::string::npos &&
                 block.clears.find(c.clears) != std::string::npos;
        });
    for (const Block& block : plan.blockers)
      UNSCOPED_INFO(block.id << ": " << block.reason << " -> " << block.clears);
    CHECK(hit != plan.blockers.end());
    // No sheet to drive by comes out of a refused plan.
    CHECK(plan_text(plan, {}).find("run01") == std::string::npos);
  }
}

TEST_CASE("a written reason gets past some blocks, and past none of pedal, leak, lamp, permission",
          "[plan][refusal]") {
  Example example = in_order();
  example.records.push_back(fact("fault", "2026-03-03", {{"what", "RL slow"}}));
  example.request.overrides["fault"] = "hose replaced, bill to follow";
  const SessionPlan plan = plan_of(example);
  CHECK(plan.go());
  REQUIRE(plan.overridden.size() == 1);
  CHECK(plan_text(plan, {}).find("hose replaced") != std::string::npos);

  const auto refused = [](const char* id, const std::function<void(Example&)>& spoil) {
    Example bad = in_order();
    spoil(bad);
    bad.request.overrides[id] = "because";
    CHECK_THROWS_WITH(plan_of(bad), Catch::Contains("nothing overrides this"));
  };
  refused("permission", [](Example& e) { e.request.permission.clear(); });
  refused("lamp", [](Example& e) {
    e.records.push_back(fact("lamp-check", "2026-05-01", {{"result", "fail"}, {"codes", "21"}}));
  });
  refused("leak", [](Example& e) {
    e.records.push_back(fact("level-check", "2026-05-01", {{"result", "fail"}, {"leaks", "yes"}}));
  });
  refused("pedal", [](Example& e) {
    e.records.push_back(fact("level-check", "2026-05-01", {{"result", "fail"}}));
  });
  Example nothing = in_order();
  nothing.request.overrides["weather"] = "because";
  CHECK_THROWS_WITH(plan_of(nothing), Catch::Contains("nothing of that name"));
}

TEST_CASE("a plan aims at the releases asked for, or says why not", "[plan][recording]") {
  const auto needed = [](const SessionPlan& plan) {
    std::vector<int> counts;
    for (const Look& look : plan.looks)
      if (look.role.quantity == QuantityKind::outlet) counts.push_back(look.needed);
    return counts;
  };
  const auto noted = [](const SessionPlan& plan, const std::string& what) {
    return std::any_of(plan.notes.begin(), plan.notes.end(), [&](const std::string& note) {
      return note.find(what) != std::string::npos;
    });
  };
  Example example = in_order();
  example.request.draws = 40;
  example.request.recorder = parse_recorder("20/s each");
  const SessionPlan fast = plan_of(example);
  CHECK(fast.aims_at_amounts);
  CHECK(needed(fast) == std::vector<int>{3, 3, 2, 2});  // stop-fronts, stop-rears
  CHECK_FALSE(noted(fast, "more releases than one"));

  example.request.recorder = parse_recorder("8/s");
  const SessionPlan slow = plan_of(example);
  CHECK_FALSE(slow.aims_at_amounts);
  CHECK(needed(slow) == std::vector<int>{1, 1, 1, 1});
  REQUIRE(slow.stops_for_amounts);
  CHECK(*slow.stops_for_amounts > 12);
  CHECK(noted(slow, "would take " + std::to_string(*slow.stops_for_amounts) + " ABS stops"));
}

TEST_CASE("every valve is recorded in some run, however slow the recorder", "[plan][recording]") {
  for (const char* recorder : {"1/s", "4/s", "8/s", "20/s", "10/s block max 2", "50/s each"}) {
    Example example = in_order();
    example.request.draws = 40;
    example.request.recorder = parse_recorder(recorder);
    const SessionPlan plan = plan_of(example);
    INFO(recorder);
    CHECK(plan.recording.stops() <= 11);
    for (const Corner corner : all_corners)
      CHECK(std::any_of(plan.runs.begin(), plan.runs.end(), [&](const Run& run) {
        return std::find(run.columns.begin(), run.columns.end(),
                         Role::at(QuantityKind::outlet, corner)) != run.columns.end();
      }));
    CHECK(plan.recording.chances.size() == plan.looks.size());
    CHECK(plan.recording.aims.size() == plan.looks.size());
  }
}

TEST_CASE("a car without valve commands has its wheels recorded, however slowly",
          "[plan][recording]") {
  Example example = in_order();
  example.car.facts.unit_kind = UnitKind::motor_piston;
  example.request.recorder = parse_recorder("8/s max 3");
  const SessionPlan plan = plan_of(example);
  REQUIRE(plan.recording.runs.size() == 1);
  CHECK(plan.recording.runs.front().columns.size() == 3);  // as many as it takes
  CHECK(plan.recording.stops() == answer_stops);
  CHECK(std::any_of(plan.notes.begin(), plan.notes.end(), [](const std::string& note) {
    return note.find("expect \"unseen\" at best") != std::string::npos;
  }));
}

TEST_CASE("a full session changes the recorder's setting no more than twice", "[plan][recording]") {
  for (const UnitKind kind : {UnitKind::two_valve, UnitKind::three_position})
    for (const char* recorder : {"4/s", "8/s", "20/s"}) {
      Example example = in_order();
      example.car.facts.unit_kind = kind;
      example.request.recorder = parse_recorder(recorder);
      example.request.draws = 40;
      INFO(recorder);
      const SessionPlan plan = plan_of(example);
      CHECK(plan.recording.runs.size() <= 3);
    }
}

TEST_CASE("a measured boiling point counts until the fluid is changed", "[plan][heat]") {
  Example example = in_order();
  CHECK(*plan_of(example).heat.fluid_boils_c == 155.0);  // BF-02, DOT 4
  Record test = fact("fluid-test", "2026-03-01", {{"result", "pass"}});
  test.fields["boiling"] = {"212 degC", 212.0};
  example.records.push_back(test);
  CHECK(*plan_of(example).heat.fluid_boils_c == 212.0);
  CHECK(plan_of(example).heat.fluid_basis.find("boiling-point test") == 0);
  example.records.push_back(fact("fluid-change", "2026-04-01", {{"grade", "DOT 4"}}));
  CHECK(*plan_of(example).heat.fluid_boils_c == 155.0);
  CHECK(plan_of(example).heat.fluid_basis == "least wet boiling point of DOT 4");
}

TEST_CASE("runs are numbered, rest, and start on cool brakes", "[plan][session]") {
  Example example = in_order();
  example.request.recorder = parse_recorder("8/s");
  example.request.lot_length = Metres(400.0);
  example.request.lot_width.reset();
  example.request.speed = from_kmh(60.0);
  example.request.heat.ambient_c = 35.0;
  example.car.facts.mass_kg = 2000.0;
  example.car.facts.front_disc_kg = 4.0;
  const SessionPlan plan = plan_of(example);
  int number = 0, abs_stops = 0;
  double last_end_min = 0.0;
  for (const Run& run : plan.runs) {
    CHECK(run.number == ++number);
    CHECK(run.start_min >= last_end_min);
    last_end_min = run.start_min + run.rest_s / 60.0;
    CHECK(run.front_before_c <= 100.0 + 1e-6);  // the rules' cold brake
    CHECK(run.front_after_c > run.front_before_c);
    if (run.purpose == RunPurpose::warm_up) continue;
    ++abs_stops;
    CHECK(run.rest_s >= 150.0);
    CHECK_FALSE(run.columns.empty());
  }
  CHECK(abs_stops == plan.recording.stops() + 1);
  CHECK(abs_stops <= 12);
  // Hot enough that the base rest alone would not do: 60 km/h, 2 t, light discs.
  CHECK(std::any_of(plan.runs.begin(), plan.runs.end(), [](const Run& r) {
    return r.purpose == RunPurpose::recorded && r.rest_s > 160.0;
  }));
  CHECK(plan.heat.hottest_c > 100.0);
}

TEST_CASE("a first exercise is gentler", "[plan][session]") {
  Example example = in_order();
  std::erase_if(example.records, [](const Record& r) { return r.kind == "exercise"; });
  CHECK(plan_of(example).speed_kmh == 30.0);
}

TEST_CASE("columns follow the unit's layout", "[plan][looks]") {
  RunForecast forecast;
  forecast.answer_rate_hz = 10.0;
  const auto columns = [&](UnitKind kind, int channels, int sensors) {
    CarFacts car;
    car.unit_kind = kind;
    car.channels = channels;
    car.sensors = sensors;
    std::string text;
    for (const Look& look : session_looks(car, forecast))
      text += column_words(look.role) + (look.corners.size() == 2 ? "(2) " : " ");
    return text;
  };
  CHECK(
      columns(UnitKind::two_valve, 4, 4) ==
      "outlet valve FL outlet valve FR outlet valve RL outlet valve RR wheel speed FL wheel speed "
      "FR wheel speed RL wheel speed RR ");
  CHECK(columns(UnitKind::two_valve, 3, 3) ==
        "outlet valve FL outlet valve FR outlet valve rear(2) wheel speed FL wheel speed FR wheel "
        "speed rear(2) ");
  CHECK(columns(UnitKind::two_valve, 2, 4) ==
        "outlet valve FL(2) outlet valve FR(2) wheel speed FL wheel speed FR wheel speed RL wheel "
        "speed RR ");
  CHECK(
      columns(UnitKind::three_position, 4, 4).starts_with("valve FL valve FR valve RL valve RR "));
  CHECK(columns(UnitKind::motor_piston, 4, 4) ==
        "wheel speed FL wheel speed FR wheel speed RL wheel speed RR ");
}

TEST_CASE("a recorder too slow for answers says so and what would help", "[plan][session]") {
  Example example = in_order();
  example.request.ground = *find_ground("wet-cobble");
  example.request.draws = 40;
  example.request.recorder = parse_recorder("5/s");
  const SessionPlan plan = plan_of(example);
  CHECK(plan.go());  // safe to drive; the log alone will not be sure
  CHECK_FALSE(plan.recording.reached);
  CHECK_FALSE(plan.helps.empty());
  for (const Help& help : plan.helps) CHECK(help.stops <= 12);
  const std::string text = plan_text(plan, {});
  CHECK(text.find("Not sure enough") != std::string::npos);
  CHECK(text.find("What would help") != std::string::npos);
}

TEST_CASE("the planner's surfaces are those of the forward model", "[plan][surface]") {
  std::set<std::string> planned, modelled;
  for (const Ground& ground : grounds()) {
    planned.insert(std::string(ground.name));
    CHECK(model::parse_surface(ground.name));
  }
  for (auto surface = model::Surface::dry_asphalt;; surface = model::Surface(int(surface) + 1)) {
    modelled.insert(std::string(model::surface_name(surface)));
    if (surface == model::Surface::ice) break;
  }
  CHECK(planned == modelled);
  for (const std::string& name : modelled)
    CHECK(model::surface_names().find(name) != std::string::npos);
}

TEST_CASE("ground that the stops are not made for is advised against", "[plan][surface]") {
  Example example = in_order();
  const auto advised = [](const SessionPlan& plan) {
    return std::any_of(plan.advice.begin(), plan.advice.end(),
                       [](const Block& advice) { return advice.id == "surface"; });
  };
  CHECK_FALSE(advised(plan_of(example)));
  example.request.ground = *find_ground("dry");
  const SessionPlan dry = plan_of(example);
  CHECK(dry.go());
  CHECK(advised(dry));
}
