#include "plan/gates.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "base/error.h"
#include "procedure/library.h"
#include "schedule/rule.h"

namespace stopledger {
namespace {

void sort_in(SessionPlan& plan, Block found) {
  const auto& reasons = plan.request.overrides;
  auto reason = reasons.find(override_name(found));
  if (reason == reasons.end()) reason = reasons.find(found.id);
  if (!found.hard)
    plan.advice.push_back(std::move(found));
  else if (found.may_override && reason != reasons.end())
    plan.overridden.push_back({std::move(found), reason->second});
  else
    plan.blockers.push_back(std::move(found));
}

}  // namespace

std::string override_name(const Block& block) {
  if (!block.may_override) return {};
  if (block.id == "before" || block.id == "failed-test") return block.procedure;
  return block.record_id == 0 ? block.id : fmt::format("{}-{}", block.id, block.record_id);
}

void block(SessionPlan& plan, Lack lack) {
  Block found;
  found.id = std::move(lack.id);
  found.reason = std::move(lack.reason);
  found.clears = std::move(lack.clears);
  plan.blockers.push_back(std::move(found));
}

void gather_gates(SessionPlan& plan, const CarSheet& car, std::span<const Record> records,
                  std::span<const Procedure> procedures) {
  std::set<std::string> seen;
  for (const RouteStep& step : plan.route.steps) {
    const Procedure* procedure = look_up(procedures, step.procedure);
    if (procedure == nullptr || step.optional) continue;
    if (procedure->id == "store-test" && seen.insert("store-test").second) {
      Block untested;
      untested.id = "store";
      untested.reason = "the high-pressure store has no test that passed within a year";
      untested.procedure = procedure->id;
      untested.clears = "do and record store-test";
      sort_in(plan, std::move(untested));
    }
    if (!procedure->is_session && !procedure->opens_system) continue;
    if (!applies_to(car, *procedure)) {
      if (seen.insert("unit-kind").second)
        block(plan, {"unit-kind",
                     fmt::format("the sheet says that the unit is of kind {}, and {} is not for "
                                 "that kind",
                                 unit_kind_name(car.facts.unit_kind), procedure->id),
                     "enter unit=KIND in the car's sheet, from its manual"});
      continue;
    }
    for (Block& found : blocks(car, records, procedures, *procedure, plan.request.day))
      if (!found.same_day &&
          (procedure->is_session || found.id == "unit-kind" || found.id == "store") &&
          seen.insert(found.id + found.procedure + found.record).second)
        sort_in(plan, std::move(found));
  }
}

void judge_surface(SessionPlan& plan, std::span<const Procedure> procedures) {
  const Ground& ground = plan.request.ground;
  if (!ground.fit_for_session) {
    block(plan, {"surface", std::string(ground.remark), "another surface or another day"});
    return;
  }
  std::string made_for, ids;
  for (const RouteStep& step : plan.route.steps) {
    const Procedure* procedure = look_up(procedures, step.procedure);
    if (procedure == nullptr || !procedure->is_session || step.optional ||
        procedure->surfaces.empty() ||
        std::find(procedure->surfaces.begin(), procedure->surfaces.end(), ground.name) !=
            procedure->surfaces.end())
      continue;
    made_for = fmt::format("{}", fmt::join(procedure->surfaces, ", "));
    ids += (ids.empty() ? "" : ", ") + procedure->id;
  }
  if (ids.empty()) return;
  Block advice;
  advice.id = "surface";
  advice.hard = false;
  advice.reason = fmt::format("{} is not among the surfaces of {}", ground.name, ids);
  advice.clears = fmt::format("better: {}", made_for);
  plan.advice.push_back(std::move(advice));
}

void follow_route(SessionPlan& plan) {
  std::erase_if(plan.route.steps, [&](const RouteStep& step) {
    return std::any_of(plan.overridden.begin(), plan.overridden.end(), [&](const Overridden& past) {
      return past.block.procedure == step.procedure;
    });
  });
  set_dates(plan.route, plan.request.today, plan.request.day);
  if (plan.route.session_day == plan.request.day) return;
  std::string stations;
  for (const RouteStep& step : plan.route.steps)
    if (!step.optional && step.latest_day < 0)
      stations += fmt::format("{}{}", stations.empty() ? "" : ", ", step.procedure);
  Block early;
  early.id = "route";
  early.reason = fmt::format("{}, so this comes first: {}", plan.route.reason, stations);
  early.clears =
      fmt::format("those, and a session on {} at the earliest", format_day(plan.route.session_day));
  early.hard = plan.route.route == Route::unknown;
  early.may_override = true;
  sort_in(plan, std::move(early));
}

void judge_daylight(SessionPlan& plan) {
  const SessionRequest& request = plan.request;
  if (!request.place) return;
  plan.light = sun_times(request.day, *request.place, request.utc_offset_min);
  const auto clock = [](double minutes) {
    const int m = static_cast<int>(minutes);
    return fmt::format("{:02}:{:02}", m / 60 % 24, m % 60);
  };
  if (!request.start_min || !plan.light.set_min) return;
  const double end = *request.start_min + plan.timetable.end_min;
  if (end > *plan.light.set_min)
    block(plan, {"dark",
                 fmt::format("the day's work ends at {}, the sun sets at {}", clock(end),
                             clock(*plan.light.set_min)),
                 fmt::format("arrive at {} or earlier",
                             clock(*plan.light.set_min - plan.timetable.end_min))});
  if (*request.start_min < *plan.light.rise_min)
    block(plan, {"dark", fmt::format("the sun rises at {}", clock(*plan.light.rise_min)),
                 "arrive later"});
}

void refuse_idle_overrides(const SessionPlan& plan) {
  for (const auto& [name, reason] : plan.request.overrides) {
    bool exact = false;
    std::set<std::string> met;
    for (const Overridden& past : plan.overridden) {
      exact = exact || override_name(past.block) == name;
      if (past.block.id == name) met.insert(override_name(past.block));
    }
    if (exact || met.size() == 1) continue;
    if (!met.empty())
      throw Error(ErrorKind::usage,
                  fmt::format("--override {}: this stands for several things; each needs its own "
                              "reason: {}",
                              name, fmt::join(met, ", ")));
    const auto stands = std::find_if(plan.blockers.begin(), plan.blockers.end(),
                                     [&](const Block& found) { return found.id == name; });
    if (stands != plan.blockers.end())
      throw Error(
          ErrorKind::refused,
          fmt::format("--override {}: nothing overrides this: {}; it is cleared only so: {}", name,
                      stands->reason, stands->clears));
    throw Error(
        ErrorKind::usage,
        fmt::format("--override {}: nothing of that name stands in the way of this plan", name));
  }
}

}  // namespace stopledger
