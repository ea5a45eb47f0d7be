#include "plan/session_recording.h"

#include <fmt/format.h>

#include <algorithm>

namespace stopledger {
namespace {

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
  const double faster = std::min(50.0, held_kmh(plan.fits_kmh));
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

}  // namespace

void choose_recording(SessionPlan& plan, const CarFacts& car) {
  plan.looks = session_looks(car, plan.forecast);
  plan.recording = record_with(plan.looks, plan.request, plan.request.recorder);
  if (!plan.recording.reached) plan.helps = find_helps(plan, car);
  put_valves_first(plan);
}

}  // namespace stopledger
