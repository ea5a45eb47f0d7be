#include "plan/runs.h"

#include <fmt/format.h>

#include <algorithm>
#include <initializer_list>
#include <utility>

namespace stopledger {
namespace {

constexpr double heavy_car_kg = 1500.0;    // taken when the sheet has no mass: warmer than most
constexpr double rear_energy_share = 0.4;  // with 0.7 front more than the whole: each axle's worst
constexpr double light_front_disc_kg = 4.0, light_rear_disc_kg = 3.0;  // HT-09, light ends

std::string corners_text(const std::vector<Look>& looks, const RunKind& kind, bool answers) {
  std::string text;
  for (const Corner corner : all_corners)
    for (const std::size_t i : kind.looks) {
      const bool is_answer = looks[i].role.quantity == QuantityKind::wheel_speed;
      const auto& corners = looks[i].corners;
      if (is_answer == answers &&
          std::find(corners.begin(), corners.end(), corner) != corners.end())
        text += fmt::format("{}{}", text.empty() ? "" : " ", corner_name(corner));
    }
  return text;
}

std::string shows(const std::vector<Look>& looks, const RunKind& kind) {
  const std::string valves = corners_text(looks, kind, false);
  const std::string answers = corners_text(looks, kind, true);
  if (valves.empty() && answers.empty()) return "a locked wheel, left against right";
  std::string text;
  if (!valves.empty()) text = "releases " + valves;
  if (!answers.empty()) text += (text.empty() ? "" : "; ") + ("answers " + answers);
  return text;
}

// The two axles as lumps; each takes the worst share, so the sum is above the car's energy.
struct Discs {
  HeatCase heat;
  DiscAxle front, rear;
  double mass_kg = heavy_car_kg;
  double front_c, rear_c;

  void stop(double from_mps) {
    front_c += stop_rise_k(heat, front, mass_kg, from_mps, 0.0);
    rear_c += stop_rise_k(heat, rear, mass_kg, from_mps, 0.0);
  }
  void roll(double seconds) {
    front_c = cooled_c(front_c, heat.ambient_c, seconds, heat.rolling_tau_s);
    rear_c = cooled_c(rear_c, heat.ambient_c, seconds, heat.rolling_tau_s);
  }
  [[nodiscard]] double hottest() const { return std::max(front_c, rear_c); }
};

void set_fluid(HeatOutlook& outlook, const CarSheet& car, std::span<const Record> records,
               Day day) {
  const auto wet = grade_boiling(car.fluid_grade);
  const auto by_grade = [&] {
    outlook.fluid_boils_c = wet ? wet->wet_c : grade_boiling("DOT 3")->wet_c;
    outlook.fluid_basis = wet ? fmt::format("least wet boiling point of {}", car.fluid_grade)
                              : "least wet boiling point of any grade, as the sheet names none";
  };
  by_grade();
  // A measured boiling point beats the grade's; other methods are never converted into one, and new
  // fluid ends it.
  for (const Record& record : records) {
    if (!record.current() || record.day > day) continue;
    if (record.kind == "fluid-change") by_grade();
    if (record.kind != "fluid-test") continue;
    const auto value = record.fields.find("boiling");
    if (value == record.fields.end() || !value->second.normalised) continue;
    outlook.fluid_boils_c = value->second.normalised;
    outlook.fluid_basis =
        fmt::format("boiling-point test, record {} of {}", record.id, format_day(record.day));
  }
}

// One after the other, from where the timetable ends.
void add_tasks(Timetable& timetable, std::vector<Task>& tasks,
               std::initializer_list<std::pair<double, const char*>> work) {
  for (const auto& [minutes, text] : work) {
    tasks.push_back({timetable.end_min, minutes, text});
    timetable.end_min += minutes;
  }
}

}  // namespace

void lay_out_runs(SessionPlan& plan, const CarSheet& car, std::span<const Record> records,
                  const RunPractice& practice) {
  const SessionRequest& request = plan.request;
  Discs discs{.heat = request.heat,
              .front = {.disc_kg = car.facts.front_disc_kg.value_or(light_front_disc_kg)},
              .rear = {.energy_share = rear_energy_share,
                       .disc_kg = car.facts.rear_disc_kg.value_or(light_rear_disc_kg)},
              .mass_kg = car.facts.mass_kg.value_or(heavy_car_kg),
              .front_c = request.heat.ambient_c,
              .rear_c = request.heat.ambient_c};
  add_tasks(
      plan.timetable, plan.timetable.before,
      {{15, "Lamps and codes: time each lamp, read and keep the codes"},
       {20, "Level, leaks, pedal travel and 10 s hold, parking brake, tyres, wheel nuts"},
       {15, "Walk the surface; close the gate; markers, extinguisher, phone; stop signal agreed"},
       {10, "Recorder fixed, computer clock noted, one trial log opened"},
       {10, "Roll to 30 km/h and back with the recorder talking: lamps stay out"}});
  double clock_s = 60.0 * plan.timetable.end_min;

  const auto drive = [&](RunPurpose purpose, double kmh, double rest_s) -> Run& {
    const MetresPerSecond speed = from_kmh(kmh);
    const LotNeed need = lot_need(request.lot, speed).value_or(LotNeed{});
    Run run;
    run.number = static_cast<int>(plan.runs.size()) + 1;
    run.purpose = purpose;
    run.speed_kmh = kmh;
    run.rest_s = rest_s;
    run.start_min = clock_s / 60.0;
    run.front_before_c = discs.front_c;
    run.rear_before_c = discs.rear_c;
    discs.stop(speed.value());
    run.front_after_c = discs.front_c;
    run.rear_after_c = discs.rear_c;
    plan.heat.hottest_c = std::max(plan.heat.hottest_c, discs.hottest());
    // Rolling longer when the next stop would begin on warm brakes.
    run.rest_s = std::max(run.rest_s, cooling_s(discs.hottest(), request.heat.ambient_c,
                                                practice.start_below_c, request.heat.rolling_tau_s)
                                          .value_or(run.rest_s));
    discs.roll(run.rest_s);
    const double way_s = speed.value() / request.lot.pull_away_mps2 + request.lot.reaction_s +
                         need.stop_s + need.length_m() / from_kmh(practice.return_kmh).value();
    clock_s += practice.marking_s + way_s + run.rest_s;
    plan.runs.push_back(std::move(run));
    return plan.runs.back();
  };

  for (int i = 0; i < practice.warm_up_stops; ++i)
    drive(RunPurpose::warm_up, std::min(practice.warm_up_kmh, plan.speed_kmh),
          practice.warm_up_rest_s)
        .shows = i + 1 < practice.warm_up_stops ? "light stop: straight, no pull, no noise"
                                                : "firm stop, just below anti-lock; pedal check";
  {
    Run& first = drive(RunPurpose::first_abs, std::min(practice.first_abs_kmh, plan.speed_kmh),
                       practice.inspection_s);
    first.shows = "ABS acts; then level, pedal, leaks, lamp";
    if (!plan.recording.runs.empty()) first.columns = plan.recording.runs.front().columns;
    first.new_columns = true;
  }
  int abs_stops = 1;
  for (const RunKind& kind : plan.recording.runs) {
    for (int i = 0; i < kind.stops; ++i) {
      const bool change = plan.runs.back().columns != kind.columns;
      if (change) clock_s += practice.new_columns_s;
      Run& run = drive(RunPurpose::recorded, plan.speed_kmh, practice.rest_s);
      run.columns = kind.columns;
      run.new_columns = change;
      run.shows = shows(plan.looks, kind);
      ++abs_stops;
    }
  }
  plan.heat.pump_s = abs_stops * (plan.forecast.stop_s + practice.pump_runs_on_s);
  set_fluid(plan.heat, car, records, request.day);

  plan.timetable.end_min = clock_s / 60.0;
  add_tasks(plan.timetable, plan.timetable.after,
            {{10, "Export every run and open each file once before leaving"},
             {5, "Roll five minutes to cool; no parking brake on hot brakes"},
             {20, "After-run check: pedal, level, leaks, wheel warmth, tyres, lamps, codes kept"},
             {5, "Lot left clean; sheet signed"}});
}

}  // namespace stopledger
