#include "plan/session.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/error.h"
#include "plan/runs.h"
#include "schedule/rule.h"

namespace stopledger {
namespace {

// What a request itself lacks; nothing gets past it.
struct Lack {
  std::string id, reason, clears;
};

void block(SessionPlan& plan, Lack lack) {
  Block found;
  found.id = std::move(lack.id);
  found.reason = std::move(lack.reason);
  found.clears = std::move(lack.clears);
  plan.blockers.push_back(std::move(found));
}

constexpr double usual_kmh = 40.0;   // common practice: 30 to 40, more adds risk and no movement
constexpr double gentle_kmh = 30.0;  // first exercise of a car, or after neglect
constexpr double least_kmh = 20.0;   // below it too little of the stop is above where control fades
constexpr double step_kmh = 5.0;     // what a driver can hold

double rounded_down(double kmh) { return step_kmh * std::floor(kmh / step_kmh + 1e-9); }

void choose_speed(SessionPlan& plan) {
  const SessionRequest& request = plan.request;
  const bool gentle = plan.route.first_exercise || plan.route.route == Route::unknown;
  const double wanted = request.speed ? to_kmh(*request.speed) : (gentle ? gentle_kmh : usual_kmh);
  plan.speed_kmh = wanted;
  const auto need_text = [&](double kmh) {
    const auto need = lot_need(request.lot, from_kmh(kmh));
    return need ? fmt::format("{:.0f} km/h takes {:.0f} m x {:.0f} m", kmh,
                              std::ceil(need->length_m()), std::ceil(need->width_m))
                : std::string("no length is enough on this slope");
  };
  if (!request.lot_length) {
    block(plan, {"lot-unknown", "the length of the lot is not given",
                 fmt::format("measure it and give --lot-length; a run at {}", need_text(wanted))});
  } else {
    plan.fits_kmh = to_kmh(entry_speed(request.lot, *request.lot_length, request.lot_width));
    const double fits = rounded_down(plan.fits_kmh);
    if (fits < least_kmh) {
      plan.speed_kmh = least_kmh;
      block(plan,
            {"lot-too-short",
             fmt::format(
                 "a lot of {:.0f} m{} holds {:.0f} km/h on {} at most, and below {:.0f} km/h "
                 "a stop shows too little",
                 request.lot_length->value(),
                 request.lot_width ? fmt::format(" x {:.0f} m", request.lot_width->value()) : "",
                 plan.fits_kmh, request.ground.name, least_kmh),
             fmt::format("a longer or wider lot ({}; {}), or more grip", need_text(least_kmh),
                         need_text(gentle_kmh))});
    } else if (request.speed && wanted > plan.fits_kmh) {
      block(plan, {"lot-too-short",
                   fmt::format("a run at {}, the lot is {:.0f} m long{}", need_text(wanted),
                               request.lot_length->value(),
                               request.lot_width
                                   ? fmt::format(" and {:.0f} m wide", request.lot_width->value())
                                   : ""),
                   fmt::format("--speed {:.0f} or less, or a larger lot", fits)});
    } else {
      plan.speed_kmh = std::min(wanted, request.speed ? wanted : fits);
    }
  }
  if (const auto need = lot_need(request.lot, from_kmh(plan.speed_kmh)))
    plan.need = *need;
  else
    block(plan, {"slope", "on this slope and surface no brake is sure to hold the car",
                 "a level lot, or more grip"});
}

RecordingPlan record_with(const std::vector<Look>& looks, const SessionRequest& request,
                          const Recorder& recorder) {
  return plan_recording(looks, recorder, {.most_stops = request.most_stops - 1});
}

bool is_answer(const Look& look) { return look.role.quantity == QuantityKind::wheel_speed; }

// What else would let the log answer, each tried with the same arithmetic.
std::vector<Help> find_helps(const SessionPlan& plan, const CarFacts& car) {
  const SessionRequest& request = plan.request;
  std::vector<Help> helps;
  const auto try_out = [&](std::string change, const std::vector<Look>& looks,
                           const Recorder& recorder) {
    const RecordingPlan tried = record_with(looks, request, recorder);
    if (tried.reached) helps.push_back({std::move(change), tried.stops() + 1});
    return tried.reached;
  };
  const auto looks_on = [&](const Ground& ground, double kmh) {
    return session_looks(car,
                         forecast_run(car, ground, from_kmh(kmh), request.draws, request.seed));
  };
  const Ground& best = grounds().front();
  if (request.ground.name != best.name)
    try_out(fmt::format("{} ground", best.name), looks_on(best, plan.speed_kmh), request.recorder);
  const double faster = std::min(50.0, rounded_down(plan.fits_kmh));
  if (faster > plan.speed_kmh)
    try_out(fmt::format("entering at {:.0f} km/h, which the lot holds", faster),
            looks_on(request.ground, faster), request.recorder);
  const auto only = [&](auto wanted) {
    std::vector<Look> some = plan.looks;
    std::erase_if(some, [&](const Look& look) { return !wanted(look); });
    return some;
  };
  try_out("fronts in this session, rears in the next",
          only([](const Look& look) { return is_front(look.corners.front()); }), request.recorder);
  try_out("valves in this session, the wheels' answers in one with a faster recorder",
          only([](const Look& look) { return !is_answer(look); }), request.recorder);
  for (const double hz : {5.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0})
    if (try_out(fmt::format("a recorder with {:.0f}/s for each channel", hz), plan.looks,
                {.kind = Recorder::Kind::each, .rate_hz = hz}))
      break;
  return helps;
}

// Valves come first: when the session is too short for all, the wheels' answers are left to another
// one, and one stop records their speeds all the same.
void put_valves_first(SessionPlan& plan) {
  std::vector<std::size_t> missing;
  for (std::size_t i = 0; i < plan.looks.size(); ++i)
    if (is_answer(plan.looks[i])) missing.push_back(i);
  if (plan.recording.reached || missing.empty() || missing.size() == plan.looks.size()) return;
  const bool too_slow =
      std::any_of(plan.recording.unreachable.begin(), plan.recording.unreachable.end(),
                  [&](std::size_t i) { return is_answer(plan.looks[i]); });
  plan.notes.push_back(fmt::format(
      "To see a wheel answer on this surface takes {:.0f} looks a second at each wheel, {}: expect "
      "\"commanded\" at best, unless a helper or a camera sees the wheels.",
      plan.forecast.answer_rate_hz,
      too_slow ? "more than this recorder brings"
               : "and this recorder needs more stops for that than one session has"));

  // Answers follow the valves in `looks`, so the chances of the valves keep their places.
  std::vector<Look> valves = plan.looks;
  std::erase_if(valves, is_answer);
  RunKind run{.looks = {}, .columns = {}, .interval_s = 0.0, .stops = 1};
  for (const std::size_t i : missing) run.columns.push_back(plan.looks[i].role);
  const auto interval = plan.request.recorder.interval_s(static_cast<int>(run.columns.size()));
  SessionRequest less = plan.request;
  if (interval) --less.most_stops;
  plan.recording = record_with(valves, less, less.recorder);
  plan.recording.reached = false;
  plan.recording.chances.resize(plan.looks.size(), 0.0);
  plan.recording.unreachable.insert(plan.recording.unreachable.end(), missing.begin(),
                                    missing.end());
  if (!interval) return;
  run.interval_s = *interval;
  plan.recording.runs.push_back(std::move(run));
  plan.notes.push_back(
      "The last run records the wheel speeds all the same: a wheel that locks would show.");
}

void sort_in(SessionPlan& plan, Block found) {
  if (!found.hard)
    plan.advice.push_back(std::move(found));
  else if (found.may_override && plan.request.overrides.contains(found.id))
    plan.overridden.push_back(std::move(found));
  else
    plan.blockers.push_back(std::move(found));
}

// The gates of what the route leads through: of every procedure driven that day, and of those that
// open the system on the way to it. Checks of the day itself are on its list instead.
void gather_gates(SessionPlan& plan, const CarSheet& car, std::span<const Record> records,
                  std::span<const Procedure> procedures) {
  std::set<std::string> seen;
  for (const RouteStep& step : plan.route.steps) {
    const auto procedure = std::find_if(procedures.begin(), procedures.end(),
                                        [&](const Procedure& p) { return p.id == step.procedure; });
    if (procedure == procedures.end() || step.optional) continue;
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

// An override that met nothing: of something that nothing overrides, or of nothing at all.
void refuse_idle_overrides(const SessionPlan& plan) {
  for (const auto& [id, reason] : plan.request.overrides) {
    const auto is_it = [&](const Block& found) { return found.id == id; };
    if (std::any_of(plan.overridden.begin(), plan.overridden.end(), is_it)) continue;
    const auto met = std::find_if(plan.blockers.begin(), plan.blockers.end(), is_it);
    if (met != plan.blockers.end())
      throw Error(
          ErrorKind::refused,
          fmt::format("--override {}: nothing overrides this: {}; it is cleared only so: {}", id,
                      met->reason, met->clears));
    throw Error(
        ErrorKind::usage,
        fmt::format("--override {}: nothing of that name stands in the way of this plan", id));
  }
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

}  // namespace

SessionPlan plan_session(const CarSheet& car, std::span<const Record> records,
                         std::span<const Procedure> procedures, const SessionRequest& request) {
  SessionPlan plan;
  plan.car = car.facts.name;
  plan.unit_kind = car.facts.unit_kind;
  plan.request = request;
  plan.request.lot.mu = request.ground.mu_low;
  plan.route = choose_route(car, records, request.today, request.day);
  if (!request.ground.fit_for_session)
    block(plan, {"surface", std::string(request.ground.remark), "another surface or another day"});
  if (request.permission.empty())
    block(plan, {"permission", "no permission for the lot is named",
                 "the owner's written yes: --permission \"NAME, DATE\""});
  gather_gates(plan, car, records, procedures);
  choose_speed(plan);
  plan.forecast = forecast_run(car.facts, request.ground, from_kmh(plan.speed_kmh), request.draws,
                               request.seed);
  plan.looks = session_looks(car.facts, plan.forecast);
  plan.recording = record_with(plan.looks, request, request.recorder);
  if (!plan.recording.reached) plan.helps = find_helps(plan, car.facts);
  put_valves_first(plan);
  lay_out_runs(plan, car, records);
  judge_daylight(plan);
  refuse_idle_overrides(plan);
  if (!car.facts.channels)
    plan.notes.push_back("The sheet does not say how many channels the unit has: four assumed.");
  plan.cautions = {"C5",  "C4",  "C6",  "C7",  "C8", "C21", "C12",
                   "C15", "C16", "C13", "C14", "C1", "C2",  "C22"};
  if (car.facts.unit_kind == UnitKind::high_pressure_store ||
      car.facts.unit_kind == UnitKind::booster_store)
    plan.cautions.insert(plan.cautions.begin(), "C3");
  return plan;
}

}  // namespace stopledger
