#include "plan/session_recording.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>

#include "base/result.h"

namespace stopledger {
namespace {

// What is given up first when the session is too short: that cars which never do it count too; then
// the amounts that the procedures ask for, because one release is proof; then the wheels' answers;
// then sureness, so that something is recorded in every case.
struct Rung {
  bool amounts = false;
  bool of_those_that_do = true;
  bool few_settings = true;  ///< a setting changed is a setting got wrong; shared ones save stops
  double chance = sure_enough;
};
constexpr std::array rungs{Rung{.amounts = true, .of_those_that_do = false},
                           Rung{.amounts = true},
                           Rung{.amounts = true, .few_settings = false},
                           Rung{.of_those_that_do = false},
                           Rung{},
                           Rung{.few_settings = false}};

bool is_answer(const Look& look) { return look.role.quantity == QuantityKind::wheel_speed; }

struct Tried {
  Rung rung;
  std::vector<Look> looks;
  RecordingPlan recording;
};

Tried try_rung(const Rung& rung, std::vector<Look> looks, const Recorder& recorder, int most) {
  if (!rung.amounts)
    for (Look& look : looks)
      if (!is_answer(look)) look.needed = 1;
  Tried tried{rung, std::move(looks), {}};
  tried.recording = plan_recording(tried.looks, recorder,
                                   {.chance = rung.chance,
                                    .most_stops = most,
                                    .of_those_that_do = rung.of_those_that_do,
                                    .few_settings = rung.few_settings});
  return tried;
}

// The first rung that brings all looks to its aim within the session, else one release at each with
// the highest chance that fits.
Tried climb_down(const std::vector<Look>& looks, const Recorder& recorder, int most) {
  for (const Rung& rung : rungs)
    if (Tried tried = try_rung(rung, looks, recorder, most); tried.recording.reached) return tried;
  double low = 0.0, high = sure_enough;
  Tried best = try_rung({.chance = 0.01}, looks, recorder, most);
  while (high - low > 0.01) {
    const double middle = 0.5 * (low + high);
    Tried tried = try_rung({.chance = middle}, looks, recorder, most);
    (tried.recording.reached ? low : high) = middle;
    if (tried.recording.reached) best = std::move(tried);
  }
  return best;
}

bool sure(const Tried& tried) {
  return tried.recording.reached && tried.rung.chance >= sure_enough;
}

std::vector<Look> only(std::vector<Look> looks, auto wanted) {
  std::erase_if(looks, [&](const Look& look) { return !wanted(look); });
  return looks;
}

// What else would let the log answer, each tried with the same arithmetic.
std::vector<Help> find_helps(const SessionPlan& plan, const CarFacts& car) {
  const SessionRequest& request = plan.request;
  const int most = request.most_stops - 1;
  constexpr Rung proof{.few_settings = false};
  std::vector<Help> helps;
  const auto stops = [&](const std::vector<Look>& looks, const Recorder& recorder) {
    const Tried tried = try_rung(proof, looks, recorder, most);
    return tried.recording.reached ? std::optional(tried.recording.stops() + 1) : std::nullopt;
  };
  const auto try_out = [&](std::string change, const std::vector<Look>& looks,
                           const Recorder& recorder) {
    const auto needed = stops(looks, recorder);
    if (needed) helps.push_back({std::move(change), *needed});
    return needed.has_value();
  };
  const auto looks_on = [&](const Ground& ground, double kmh) {
    return session_looks(car,
                         forecast_run(car, ground, from_kmh(kmh), request.draws, request.seed));
  };
  const Ground& best = grounds().front();
  if (request.ground.name != best.name)
    try_out(fmt::format("{} ground", best.name), looks_on(best, plan.speed_kmh), request.recorder);
  const double faster = std::min(50.0, held_kmh(plan.fits_kmh));
  if (faster > plan.speed_kmh)
    try_out(fmt::format("entering at {:.0f} km/h, which the lot holds", faster),
            looks_on(request.ground, faster), request.recorder);
  const auto at_front = [](const Look& look) { return is_front(look.corners.front()); };
  const auto fronts = stops(only(plan.looks, at_front), request.recorder);
  const auto rears = stops(only(plan.looks, std::not_fn(at_front)), request.recorder);
  if (fronts && rears)
    helps.push_back(
        {fmt::format("fronts in this session, rears in the next with {} ABS stops", *rears),
         *fronts});
  for (const double hz : {5.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0})
    if (try_out(fmt::format("a recorder with {:.0f}/s for each channel", hz), plan.looks,
                {.kind = Recorder::Kind::each, .rate_hz = hz}))
      break;
  return helps;
}

// The wheels' answers are left to another session; `stops` record their speeds all the same, as
// many as the recorder takes.
void leave_answers_out(SessionPlan& plan, Tried& tried, const std::vector<Look>& all, int stops) {
  // Answers follow the valves in `all`, so the chances of the valves keep their places.
  RunKind run{.looks = {}, .columns = {}, .interval_s = 0.0, .stops = stops};
  const Recorder& recorder = plan.request.recorder;
  for (std::size_t i = tried.looks.size(); i < all.size(); ++i) {
    if (recorder.interval_s(static_cast<int>(run.columns.size()) + 1))
      run.columns.push_back(all[i].role);
    tried.looks.push_back(all[i]);
    tried.recording.chances.push_back(0.0);
    tried.recording.aims.push_back(sure_enough * look_ceiling(all[i]));
    tried.recording.unreachable.push_back(i);
  }
  tried.recording.reached = false;
  run.interval_s = recorder.interval_s(static_cast<int>(run.columns.size())).value_or(0.0);
  tried.recording.runs.push_back(std::move(run));
  plan.notes.push_back(
      fmt::format("The last {} the wheel speeds all the same: a wheel that locks would show.",
                  stops == 1 ? "run records" : fmt::format("{} runs record", stops)));
}

std::string places(const std::vector<Look>& looks, auto wanted) {
  std::string text;
  for (const Look& look : looks)
    if (wanted(look) && !is_answer(look))
      for (const Corner corner : look.corners)
        text += fmt::format("{}{}", text.empty() ? "" : ", ", corner_name(corner));
  return text;
}

// Says what the plan does not aim at, and why not.
void tell_limits(SessionPlan& plan, const std::vector<Look>& wanted) {
  if (!plan.aims_at_amounts) {
    std::string asked;
    for (const Look& look : wanted)
      if (!is_answer(look) && look.needed > 1)
        for (const Corner corner : look.corners)
          asked += fmt::format("{}{} at {}", asked.empty() ? "" : ", ", look.needed,
                               corner_name(corner));
    plan.notes.push_back(fmt::format(
        "The procedures ask for more releases than one ({}). {}, so the plan aims at one release "
        "at each wheel: that is proof that the valves move, but the check may call it not enough. "
        "Logs of a second session on the same ground add to it.",
        asked,
        plan.stops_for_amounts
            ? fmt::format("To see so many would take {} ABS stops with this recorder",
                          *plan.stops_for_amounts)
            : "No number of stops shows so many with this recorder"));
  }
  double ceiling = 1.0;
  const auto rare = [](const Look& look) { return look_ceiling(look) < sure_enough; };
  for (const Look& look : plan.looks)
    if (!is_answer(look)) ceiling = std::min(ceiling, look_ceiling(look));
  if (const std::string corners = places(plan.looks, rare); !corners.empty())
    plan.notes.push_back(fmt::format(
        "On {} ground from {:.0f} km/h the control leaves {} alone in up to {:.0f} % of the "
        "simulated "
        "cars. No recorder finds a release that does not happen, and it is no fault: more slippery "
        "ground brings it out.",
        plan.request.ground.name, plan.speed_kmh, corners, 100.0 * (1.0 - ceiling)));
}

}  // namespace

PerCorner<int> releases_asked(const RouteChoice& route, std::span<const Procedure> procedures) {
  PerCorner<int> asked{{1, 1, 1, 1}};
  for (const RouteStep& step : route.steps)
    for (const Procedure& procedure : procedures)
      if (procedure.id == step.procedure && procedure.is_session && !step.optional &&
          procedure.expectation)
        for (const Corner corner : all_corners)
          if (procedure.expectation->corners[corner].asked)
            asked[corner] =
                std::max(asked[corner], procedure.expectation->corners[corner].min_releases);
  return asked;
}

void choose_recording(SessionPlan& plan, const CarFacts& car,
                      std::span<const Procedure> procedures) {
  const Recorder& recorder = plan.request.recorder;
  const std::vector<Look> all =
      session_looks(car, plan.forecast, releases_asked(plan.route, procedures));
  const std::vector<Look> valves = only(all, std::not_fn(is_answer));
  const bool has_answers = valves.size() < all.size() && !valves.empty();
  const bool too_slow = std::any_of(all.begin(), all.end(), [&](const Look& look) {
    return recorder.interval_s(1).value_or(1e9) * look.least_rate_hz > 1.0;
  });
  const int most = plan.request.most_stops - 1;
  Tried tried;
  if (!too_slow) tried = climb_down(all, recorder, most);
  if (too_slow || (has_answers && !sure(tried))) {
    plan.notes.push_back(fmt::format(
        "To see a wheel answer on this surface takes {:.0f} looks a second at each wheel, {}: "
        "expect \"{}\" at best, unless a helper or a camera sees the wheels.",
        plan.forecast.answer_rate_hz,
        too_slow ? "more than this recorder brings"
                 : "and this recorder needs more stops for that than one session has",
        valves.empty() ? result_name(Result::unseen) : result_name(Result::commanded)));
    // A car without valve commands to log has nothing else to record.
    const int stops = valves.empty() ? std::min(answer_stops, most) : 1;
    tried =
        valves.empty() ? Tried{rungs.back(), {}, {}} : climb_down(valves, recorder, most - stops);
    leave_answers_out(plan, tried, all, stops);
  }
  plan.aims_at_amounts = tried.rung.amounts;
  if (!plan.aims_at_amounts) {
    const Tried amounts = try_rung({.amounts = true, .few_settings = false},
                                   valves.empty() ? all : valves, recorder, most);
    if (amounts.recording.unreachable.empty())
      plan.stops_for_amounts = amounts.recording.wanted_stops + 1;
    plan.aims_at_amounts = std::all_of(all.begin(), all.end(), [](const Look& look) {
      return is_answer(look) || look.needed == 1;
    });
  }
  if (tried.rung.chance < sure_enough) {
    tried.recording.reached = false;
    for (std::size_t i = 0; i < tried.looks.size(); ++i)
      tried.recording.aims[i] = sure_enough * look_ceiling(tried.looks[i]);
  }
  plan.looks = std::move(tried.looks);
  plan.recording = std::move(tried.recording);
  if (!plan.recording.reached) plan.helps = find_helps(plan, car);
  tell_limits(plan, all);
}

}  // namespace stopledger
