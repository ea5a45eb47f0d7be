#include "verify/check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "signal/series.h"
#include "verify/criteria.h"
#include "verify/explain.h"
#include "verify/findings.h"
#include "verify/log_findings.h"
#include "verify/pump.h"
#include "verify/swap.h"
#include "verify/traction.h"
#include "verify/weigh.h"

namespace stopledger {

namespace {

EpisodeCorner episode_corner(Corner corner, const CornerEvidence& evidence) {
  const CornerOutcome outcome = judge_corner(corner, evidence);
  EpisodeCorner result;
  result.result = outcome.result;
  result.release_events = outcome.release_events;
  result.cycle_rate_hz = outcome.cycle_rate_hz;
  result.peak_slip = outcome.peak_slip;
  result.locked_s = outcome.locked_s;
  return result;
}

/// One pump motor serves both circuits: where answers die out at one wheel, the others' count.
void share_fading(PerCorner<CornerEvidence>& evidence) {
  PerCorner<double> odds;
  for (const Corner corner : all_corners) odds[corner] = fading_odds(evidence[corner]);
  for (const Corner corner : all_corners) {
    double others = 0.0;
    for (const Corner other : all_corners) {
      if (other == corner) continue;
      others += odds[other];
      evidence[corner].fading_elsewhere += odds[other] >= criteria.fading_elsewhere ? 1 : 0;
    }
    evidence[corner].fading_support = std::min(others, criteria.fading_most);
  }
}

/// A sound valve at none of the wheels is far less likely than ground too slick for any wheel to
/// come back, or a car's speed that was read too high: then no corner is to blame.
void share_non_answers(PerCorner<CornerEvidence>& evidence) {
  int poor = 0, better = 0;
  for (const Corner corner : all_corners) {
    const AnswerTests tests = count_tests(evidence[corner]);
    if (tests.answered + tests.unanswered == 0) continue;
    const bool mostly =
        tests.answered < criteria.answered_most * (tests.answered + tests.unanswered);
    (mostly && fading_odds(evidence[corner]) < criteria.fading_elsewhere ? poor : better) += 1;
  }
  for (const Corner corner : all_corners)
    evidence[corner].all_unanswered = poor >= 3 && better == 0;
}

EpisodeTraces traces_of(const PreparedLog& run, const PerCorner<Commands>& commands,
                        const Episode& episode) {
  EpisodeTraces traces;
  const double from = episode.start_s - 1.0, to = episode.end_s + 0.7;
  for (const ReferenceSpeed& part : run.reference)
    for (std::size_t i = 0; i < part.v_mps.size(); ++i) {
      const double t = part.start_s + part.step_s * static_cast<double>(i);
      if (t < from || t > to || !part.valid[i]) continue;
      traces.reference.t_s.push_back(t);
      traces.reference.v_kmh.push_back(part.v_mps[i] * 3.6);
    }
  for (const Corner corner : all_corners) {
    const WheelView& wheel = run.wheels[corner];
    for (std::size_t i = first_at_or_after(wheel.t_s, from);
         i < wheel.t_s.size() && wheel.t_s[i] <= to; ++i) {
      traces.wheels[corner].t_s.push_back(wheel.t_s[i]);
      traces.wheels[corner].v_kmh.push_back(wheel.v_mps[i] * 3.6);
    }
    const auto add = [&](std::vector<EpisodeTraces::Span>& spans, double start, double end) {
      if (start <= to && end >= from) spans.push_back({std::max(start, from), std::min(end, to)});
    };
    for (const OnRun& hold : commands[corner].holds)
      add(traces.holds[corner], hold.first_on_s, hold.last_on_s);
    for (const Release& release : commands[corner].releases)
      add(traces.releases[corner], release.start_s, release.end_s);
  }
  return traces;
}

Result judge_circuit_valve(const std::vector<PreparedLog>& runs, QuantityKind quantity,
                           int circuit) {
  bool looked = false;
  for (const PreparedLog& run : runs)
    for (const Role& role : {Role::of_circuit(quantity, circuit), Role::of_car(quantity)}) {
      const Channel* channel = run.log->find(role);
      if (!channel || channel->series.size() < 2) continue;
      const auto pulses = on_runs(channel->series, criteria.on_duty);
      const auto samples = static_cast<int>(channel->series.size());
      for (const OnRun& pulse : pulses)
        if (pulse.samples < samples) return Result::commanded;
      // Stability and traction keep these valves on for tenths of a second: four looks a second
      // would have shown it.
      looked = looked || channel->rate_hz.value_or(0.0) >= 4.0;
    }
  return looked ? Result::idle : Result::unseen;
}

}  // namespace

Result result_of_the_rest(const CheckOutcome& outcome, const Expectation& expectation) {
  std::optional<Result> rest;
  const auto include = [&](Result result) { rest = rest ? worse(*rest, result) : result; };
  if (expectation.pump_asked) include(outcome.pump.result);
  if (expectation.circuits_asked) {
    bool shown = false;
    for (const CircuitOutcome& circuit : outcome.circuits) {
      if (circuit.isolation == Result::unseen && circuit.prime == Result::unseen) continue;
      shown = true;
      include(circuit.isolation);
      include(circuit.prime);
    }
    if (!shown) include(Result::unseen);
  }
  return rest.value_or(Result::unseen);
}

CheckOutcome check_logs(std::span<const Log> logs, const CarFacts& car,
                        const Expectation* expectation) {
  std::vector<PreparedLog> runs;
  std::vector<JudgedStretch> stretches;
  PerCorner<int> elsewhere{};
  for (std::size_t i = 0; i < logs.size(); ++i) runs.push_back(prepare_log(logs[i], i, car));
  for (const PreparedLog& run : runs) {
    PerCorner<Commands> commands;
    for (const Corner corner : all_corners) commands[corner] = read_commands(run, corner);
    std::vector<JudgedStretch> of_run;
    for (Stretch& stretch : find_episodes(run, commands, car)) {
      judge_control_episode(run, commands, car, stretch);
      stretch.episode.traces = traces_of(run, commands, stretch.episode);
      of_run.push_back(collect(run, commands, stretch, car));
    }
    mark_swapped(run, commands, of_run);
    for (const Corner corner : all_corners)
      for (const Release& release : commands[corner].releases)
        elsewhere[corner] += std::none_of(of_run.begin(), of_run.end(),
                                          [&](const JudgedStretch& judged) {
                                            const Episode& episode = judged.stretch.episode;
                                            return release.end_s >= episode.start_s - 0.3 &&
                                                   release.start_s <= episode.end_s + 0.3;
                                          })
                                 ? 1
                                 : 0;
    stretches.insert(stretches.end(), std::make_move_iterator(of_run.begin()),
                     std::make_move_iterator(of_run.end()));
  }

  CheckOutcome outcome;
  PerCorner<CornerEvidence> evidence;
  bool first = true;
  for (const Corner corner : all_corners) {
    evidence[corner] = pool(stretches, corner);
    evidence[corner].elsewhere = elsewhere[corner];
  }
  const std::string hint = speed_hint(logs);
  for (const Corner corner : all_corners) evidence[corner].speed_hint = hint;
  share_fading(evidence);
  share_non_answers(evidence);
  for (const Corner corner : all_corners) {
    CornerOutcome& one = outcome.corners[corner];
    one = judge_corner(corner, evidence[corner]);
    // A corner that was seen not to answer matters whatever the procedure asks for.
    one.asked = !expectation || expectation->corners[corner].asked || one.result == Result::suspect;
    if (expectation && one.asked) {
      const CornerExpectation& asked = expectation->corners[corner];
      const bool proof = one.result == Result::exercised ||
                         (one.result == Result::commanded && !expectation->needs_wheel_answer);
      const int seen = std::max(evidence[corner].releases, evidence[corner].swings);
      one.enough = (proof && seen >= asked.min_releases) ||
                   (one.result == Result::idle && asked.may_stay_idle);
    }
    if (!one.asked) continue;
    outcome.result = first ? one.result : worse(outcome.result, one.result);
    first = false;
  }
  outcome.pump = judge_pump(runs, stretches);
  for (int circuit = 1; circuit <= 2; ++circuit) {
    CircuitOutcome& valves = outcome.circuits[static_cast<std::size_t>(circuit - 1)];
    valves.isolation = judge_circuit_valve(runs, QuantityKind::isolation, circuit);
    valves.prime = judge_circuit_valve(runs, QuantityKind::prime, circuit);
  }
  // A procedure that asks for no corner is about the pump or the circuit valves.
  if (first && expectation) outcome.result = result_of_the_rest(outcome, *expectation);
  for (const JudgedStretch& judged : stretches) {
    Episode episode = judged.stretch.episode;
    episode.modulated = judged.modulated;
    for (const Corner corner : all_corners)
      episode.corners[corner] = episode_corner(corner, judged.corners[corner]);
    outcome.episodes.push_back(std::move(episode));
  }
  const Session session{logs, &car, expectation, &runs, &stretches, &evidence};
  outcome.findings = find_all(session, outcome);
  outcome.record_next = record_next(session, outcome);

  if (outcome.result == Result::exercised)
    outcome.limits.emplace_back(
        "A good result means: the valves moved and the wheels answered on this day, at this "
        "pressure and "
        "temperature. It is no guarantee and no roadworthiness certificate.");
  else if (outcome.result == Result::suspect)
    outcome.limits.emplace_back(
        "Suspect is no diagnosis: valve, caliper, hose and sensor can look alike in a log. Treat "
        "it as "
        "a fault until it has been looked at.");
  else
    outcome.limits.emplace_back(
        "A missing result is not proof of a fault: the log may be too slow or the surface "
        "unsuitable.");
  bool circuits_moved = false;
  for (const CircuitOutcome& circuit : outcome.circuits)
    circuits_moved = circuits_moved || circuit.isolation == Result::commanded;
  if (!circuits_moved && car.has_isolation_valves != false)
    outcome.limits.emplace_back(
        "Anti-lock stops never move isolation and prime valves. If the car has traction or "
        "stability "
        "control, the static active-pressure test moves them.");
  if (std::any_of(outcome.episodes.begin(), outcome.episodes.end(), [](const Episode& episode) {
        return episode.stability &&
               (episode.stability->yaw_left_1s || episode.stability->yaw_left_1_75s);
      }))
    outcome.limits.emplace_back(
        "What was left of the yaw rate after steering is a figure, no pass or fail: the limits of "
        "the stability standard (35 % after 1.00 s, 20 % after 1.75 s) belong to its own test at "
        "80 km/h by a steering machine, which is never to be tried here.");
  if (!car.channels)
    outcome.limits.emplace_back("The car's layout was not given: four channels were assumed.");
  return outcome;
}

}  // namespace stopledger
