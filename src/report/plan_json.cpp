#include "report/plan_json.h"

#include <nlohmann/json.hpp>

#include <cmath>

#include "report/or_null.h"
#include "report/plan_words.h"

namespace stopledger {
namespace {

using ordered_json = nlohmann::ordered_json;

ordered_json metres(const std::optional<Metres>& length) {
  return length ? ordered_json(length->value()) : ordered_json(nullptr);
}

double tenth(double value) { return std::round(10.0 * value) / 10.0; }

ordered_json blocker_json(const Block& block, const std::string& reason_given = {}) {
  const std::string name = override_name(block);
  return {{"id", block.id},
          {"name", name.empty() ? block.id : name},
          {"hard", block.hard},
          {"may_override", block.may_override},
          {"procedure", or_null(block.procedure)},
          {"reason", block.reason},
          {"record", or_null(block.record)},
          {"record_number", number_or_null(block.record_id)},
          {"clears", block.clears},
          {"overridden_because", or_null(reason_given)}};
}

ordered_json columns_json(const std::vector<Role>& columns) {
  ordered_json out = ordered_json::array();
  for (const Role& role : columns) out.push_back(column_words(role));
  return out;
}

const char* purpose_name(RunPurpose purpose) {
  switch (purpose) {
    case RunPurpose::warm_up:
      return "warm-up";
    case RunPurpose::first_abs:
      return "first-abs";
    case RunPurpose::recorded:
      break;
  }
  return "recorded";
}

ordered_json tasks_json(const std::vector<Task>& tasks) {
  ordered_json out = ordered_json::array();
  for (const Task& task : tasks)
    out.push_back(
        {{"start_min", tenth(task.start_min)}, {"minutes", task.minutes}, {"text", task.text}});
  return out;
}

}  // namespace

std::string plan_json(const SessionPlan& plan, const PlanTexts& texts) {
  const SessionRequest& request = plan.request;
  ordered_json out{{"schema", "stopledger.plan/1"},
                   {"car", plan.car},
                   {"date", format_day(request.day)},
                   {"go", plan.go()},
                   {"blocks", ordered_json::array()},
                   {"advice", ordered_json::array()},
                   {"notes", plan.notes}};
  for (const Block& block : plan.blockers) out["blocks"].push_back(blocker_json(block));
  for (const Overridden& past : plan.overridden)
    out["blocks"].push_back(blocker_json(past.block, past.reason_given));
  for (const Block& block : plan.advice) out["advice"].push_back(blocker_json(block));

  ordered_json steps = ordered_json::array();
  for (const RouteStep& step : plan.route.steps)
    steps.push_back({{"procedure", step.procedure},
                     {"earliest_day", step.earliest_day},
                     {"latest_day", step.latest_day},
                     {"from", format_day(step.from)},
                     {"to", format_day(step.to)},
                     {"optional", step.optional},
                     {"why", step.why}});
  out["route"] = {{"name", route_name(plan.route.route)},
                  {"reason", plan.route.reason},
                  {"first_exercise", plan.route.first_exercise},
                  {"after_unit_work", plan.route.unit_work},
                  {"stood_days", or_null(plan.route.stood_days)},
                  {"session_day", format_day(plan.route.session_day)},
                  {"steps", steps}};
  out["lot"] = {{"surface", request.ground.name},
                {"friction_low", request.ground.mu_low},
                {"friction_high", request.ground.mu_high},
                {"slope", request.lot.slope},
                {"length_m", metres(request.lot_length)},
                {"width_m", metres(request.lot_width)},
                {"fits_kmh",
                 plan.fits_kmh > 0.0 ? ordered_json(tenth(plan.fits_kmh)) : ordered_json(nullptr)},
                {"entry_speed_kmh", tenth(plan.speed_kmh)},
                {"run_up_m", tenth(plan.need.run_up_m)},
                {"reaction_m", tenth(plan.need.reaction_m)},
                {"stop_m", tenth(plan.need.stop_m)},
                {"stop_s", tenth(plan.need.stop_s)},
                {"run_off_m", tenth(plan.need.run_off_m)},
                {"needed_length_m", tenth(plan.need.length_m())},
                {"needed_width_m", tenth(plan.need.width_m)},
                {"turning_m", tenth(plan.need.turning_m)}};
  ordered_json looks = ordered_json::array();
  for (std::size_t i = 0; i < plan.looks.size(); ++i) {
    ordered_json corners = ordered_json::array();
    for (const Corner corner : plan.looks[i].corners) corners.push_back(corner_name(corner));
    const bool answer = plan.looks[i].role.quantity == QuantityKind::wheel_speed;
    looks.push_back({{"column", column_words(plan.looks[i].role)},
                     {"corners", corners},
                     {"shows", answer ? "answer" : "release"},
                     {"needed", plan.looks[i].needed},
                     {"chance", plan.recording.chances[i]},
                     {"aim", plan.recording.aims[i]},
                     {"happens_in", look_ceiling(plan.looks[i])}});
  }
  ordered_json expected{{"stop_s", tenth(plan.forecast.stop_s)},
                        {"releases", ordered_json::object()}};
  for (const Corner corner : all_corners)
    expected["releases"][std::string(corner_name(corner))] = {
        {"low", plan.forecast.releases_in_a_stop(corner, 0.1)},
        {"median", plan.forecast.releases_in_a_stop(corner, 0.5)},
        {"high", plan.forecast.releases_in_a_stop(corner, 0.9)}};
  ordered_json helps = ordered_json::array();
  for (const Help& help : plan.helps)
    helps.push_back({{"change", help.change}, {"abs_stops", help.stops}});
  out["recording"] = {{"recorder", request.recorder.describe()},
                      {"reached", plan.recording.reached},
                      {"abs_stops", plan.recording.stops() + 1},
                      {"aims_at_amounts", plan.aims_at_amounts},
                      {"abs_stops_for_amounts", or_null(plan.stops_for_amounts)},
                      {"looks", looks},
                      {"expected", expected},
                      {"helps", helps},
                      {"basis", plan.forecast.basis}};
  ordered_json runs = ordered_json::array();
  for (const Run& run : plan.runs)
    runs.push_back({{"run", run_name(run)},
                    {"purpose", purpose_name(run.purpose)},
                    {"start_min", tenth(run.start_min)},
                    {"speed_kmh", run.speed_kmh},
                    {"columns", columns_json(run.columns)},
                    {"shows", run.shows},
                    {"rest_s", std::round(run.rest_s)},
                    {"front_disc_c", {tenth(run.front_before_c), tenth(run.front_after_c)}},
                    {"rear_disc_c", {tenth(run.rear_before_c), tenth(run.rear_after_c)}}});
  out["runs"] = runs;
  out["timetable"] = {
      {"arrival_min", or_null(request.start_min)},   {"before", tasks_json(plan.timetable.before)},
      {"after", tasks_json(plan.timetable.after)},   {"end_min", tenth(plan.timetable.end_min)},
      {"sunrise_min", or_null(plan.light.rise_min)}, {"sunset_min", or_null(plan.light.set_min)}};
  out["heat"] = {{"ambient_c", request.heat.ambient_c},
                 {"hottest_disc_c", tenth(plan.heat.hottest_c)},
                 {"fluid_boils_c", or_null(plan.heat.fluid_boils_c)},
                 {"fluid_basis", plan.heat.fluid_basis},
                 {"pump_s", tenth(plan.heat.pump_s)}};
  out["permission"] = or_null(request.permission);
  out["driver"] = or_null(request.driver);
  out["helper"] = or_null(request.helper);
  out["address"] = or_null(request.address);
  out["cautions"] = plan.cautions;
  out["stop_conditions"] = texts.stop_conditions;
  out["sheet_text"] = plan_text(plan, texts);
  return out.dump(2) + "\n";
}

}  // namespace stopledger
