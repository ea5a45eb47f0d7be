#include "verify/explain.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "signal/series.h"
#include "verify/count_words.h"
#include "verify/criteria.h"
#include "verify/silence.h"
#include "verify/weigh.h"

namespace stopledger {

namespace {

EvidenceKind kind_of(bool valves, bool wheel) {
  if (valves && wheel) return EvidenceKind::valves_and_wheel;
  if (valves) return EvidenceKind::valves;
  return wheel ? EvidenceKind::wheel : EvidenceKind::none;
}

const char* explanation_text(Explanation explanation) {
  switch (explanation) {
    case Explanation::cycled:
      return "valves and wheel are sound";
    case Explanation::release_dead:
      return "the outlet valve does not open, or the inlet does not hold";
    case Explanation::rebuild_dead:
      return "the inlet valve does not reopen";
    case Explanation::fading:
      return "the return pump or accumulator of this circuit";
    case Explanation::weak:
      break;
  }
  return "a valve that moves slowly, or a caliper or hose that is slow to release";
}

}  // namespace

CornerOutcome judge_corner(Corner corner, const CornerEvidence& evidence) {
  CornerOutcome outcome;
  const AnswerTests tests = count_tests(evidence);
  const auto weighed = weigh_explanations(evidence);
  const bool commands = evidence.releases > 0 || evidence.closings > 0;
  const bool rear = !is_front(corner);

  // Figures first: known or empty, never a silent zero.
  if (evidence.outlet_visible) {
    outcome.release_events = outcome.release_events_low = evidence.releases;
    outcome.release_events_high = std::max(evidence.releases, evidence.releases_high);
  }
  if (evidence.valves_visible) {
    outcome.hold_events = evidence.holds;
    if (evidence.judged_s > 0.0)
      outcome.catch_probability = std::min(evidence.catch_probability, criteria.surest_catch);
  }
  if (evidence.cycle_rate_hz > 0.0)
    outcome.cycle_rate_hz = evidence.cycle_rate_hz;
  else if (evidence.swing_rate_hz > 0.0)
    outcome.cycle_rate_hz = evidence.swing_rate_hz;
  if (evidence.wheel_visible) {
    outcome.peak_slip = evidence.peak_slip;
    outcome.locked_s = evidence.locked_s;
  }
  if (tests.answered + tests.unanswered > 0)
    outcome.answered_share = static_cast<double>(tests.answered) /
                             static_cast<double>(tests.answered + tests.unanswered);
  if (!tests.delays.empty()) outcome.response_delay_s = median(tests.delays);
  if (tests.answered + tests.unanswered > 0)
    outcome.response = tests.answered == 0              ? Response::none
                       : *outcome.answered_share < 0.75 ? Response::weak
                                                        : Response::normal;

  const double sound = [&] {
    for (const Weighed& one : weighed)
      if (one.explanation == Explanation::cycled) return one.share;
    return 0.0;
  }();
  const bool wheel_swings = evidence.swings >= 3 && evidence.reslips >= 2;
  const bool silent_column = evidence.valves_visible && !commands && evidence.balance == 0;

  const auto finish = [&](Result result, EvidenceKind kind, std::string reason) {
    outcome.result = result;
    if (result == Result::exercised && evidence.axle_mean)
      reason += "; one sensor serves both rear wheels, so this is the axle's answer";
    if (outcome.confidence) outcome.confidence = std::min(*outcome.confidence, criteria.surest);
    outcome.evidence = kind;
    outcome.reason = std::move(reason);
    return outcome;
  };
  const auto add_rivals = [&](double least) {
    for (std::size_t i = 1; i < weighed.size(); ++i)
      if (weighed[i].share >= least && weighed[i].explanation != Explanation::cycled)
        outcome.could_also_be.emplace_back(explanation_text(weighed[i].explanation));
  };

  if (evidence.swapped)
    return finish(commands ? Result::commanded : Result::unseen, kind_of(commands, false),
                  "valve and wheel columns do not belong together: this valve works just before "
                  "another wheel recovers, so no answer can be credited to this corner");

  // A wheel that cycles beside a silent valve column: the column is wrong, not the wheel.
  if (silent_column && (wheel_swings || (tests.tested == 0 && evidence.swings >= 4)))
    return finish(Result::unseen, EvidenceKind::wheel,
                  fmt::format("the wheel swung {} times while its valve columns stayed silent: the "
                              "column is stuck or belongs elsewhere, so the log cannot tell",
                              evidence.swings));

  // Beside releases that were answered, a single short one that was not may be the road.
  const bool fault_likely =
      !weighed.empty() && 1.0 - sound >= criteria.sure_fault &&
      (tests.answered == 0 || tests.unanswered >= 2 || tests.not_rebuilt > 0 ||
       tests.unanswered_weight >= criteria.long_unanswered ||
       (tests.unanswered > 0 && evidence.fading_support >= criteria.fading_elsewhere));
  if (commands && fault_likely && (!evidence.all_unanswered || tests.unanswered == 0)) {
    outcome.confidence = 1.0 - sound;
    add_rivals(0.02);
    const Explanation best = weighed.front().explanation == Explanation::cycled
                                 ? weighed[1].explanation
                                 : weighed.front().explanation;
    if (best == Explanation::rebuild_dead)
      return finish(Result::suspect, EvidenceKind::valves_and_wheel,
                    fmt::format("released, then the wheel rolled free for {:.1f} s although apply "
                                "was commanded",
                                evidence.free_s));
    if (best == Explanation::fading)
      return finish(Result::suspect, EvidenceKind::valves_and_wheel,
                    fmt::format("the first releases were answered, the later ones not ({} of {})",
                                tests.answered, tests.answered + tests.unanswered));
    std::string reason =
        tests.answered == 0
            ? fmt::format("{} commanded, none answered", times(evidence.releases, "release"))
            : fmt::format("only {} of {} releases answered", tests.answered,
                          tests.answered + tests.unanswered);
    if (evidence.longest_lock_s > criteria.lock_tolerated_s)
      reason += fmt::format("; wheel locked for {:.2f} s above 15 km/h", evidence.longest_lock_s);
    return finish(Result::suspect, EvidenceKind::valves_and_wheel, std::move(reason));
  }

  // Where the outlet is watched closely, a corner that only held was not released.
  const bool released = evidence.releases > 0 || !evidence.outlet_visible;
  // One sensor for two wheels that have a valve each shows neither wheel's own answer.
  // Where answers died out at several other wheels, so few answers may be from before it.
  const bool pump_failed = evidence.fading_elsewhere >= criteria.fading_corners &&
                           tests.answered <= criteria.small_answers;
  const bool own_answer = !(evidence.axle_mean && evidence.own_valve) && !pump_failed;
  const int proofs = tests.answered - tests.sunk;
  const bool answered_surely =
      commands && own_answer && released &&
      (tests.sure >= 1 || proofs >= criteria.small_answers ||
       tests.prompt >= criteria.prompt_answers) &&
      (evidence.looks_hz >= criteria.plenty_hz || proofs >= criteria.answers_at_few) &&
      tests.rebuilt + evidence.reslips >= 1 && sound >= criteria.sure_exercised &&
      (tests.doubtful == 0 || proofs > criteria.answers_per_doubt * tests.doubtful) &&
      proofs >= criteria.answered_most * (tests.tested - tests.sunk);
  if (answered_surely) {
    outcome.confidence = sound;
    add_rivals(0.01);
    double within = 0.0;
    for (const double delay : tests.delays) within = std::max(within, delay);
    const int told = tests.answered + tests.unanswered;
    return finish(
        Result::exercised, EvidenceKind::valves_and_wheel,
        evidence.releases == 0
            ? fmt::format("inlet worked {} times and the wheel swung with it", evidence.closings)
        : tests.answered == told
            ? fmt::format("{}, {} answered within {:.2f} s", times(evidence.releases, "release"),
                          tests.answered == evidence.releases
                              ? std::string("all")
                              : fmt::format("{} of {} that could be tested", tests.answered, told),
                          within)
            : fmt::format("{}, {} of {} answered within {:.2f} s",
                          times(evidence.releases, "release"), tests.answered, told, within));
  }

  // Many releases together, where noise or few looks hide the single answer.
  const auto pooled = pool_answers(evidence.slips);
  if (pooled && own_answer && released && pooled->p < criteria.pool_p &&
      pooled->before >= criteria.pool_slip &&
      pooled->drop >= criteria.pool_share * pooled->before && tests.unanswered == 0 &&
      tests.too_soon <= tests.answered && !long_lock(evidence)) {
    outcome.confidence = std::min(sound > 0.0 ? sound : 1.0, 1.0 - 20.0 * pooled->p);
    outcome.response = Response::normal;
    return finish(Result::exercised, EvidenceKind::valves_and_wheel,
                  fmt::format("{}; taken together slip fell from {:.0f} to {:.0f} % after them",
                              times(evidence.releases, "release"), 100.0 * pooled->before,
                              100.0 * (pooled->before - pooled->drop)));
  }

  // Commands here, the wheel's swings seen without a release tied to them (slow, or another run).
  // Where each release could be watched and none can be tied to an answer, swings prove nothing.
  const bool could_be_tied = evidence.outlet_visible && evidence.wheel_fast &&
                             evidence.releases > 0 &&
                             evidence.slowest_step_s <= 1.0 / criteria.fast_wheel_hz &&
                             !evidence.commands_and_wheel_from_different_logs;
  // Without a command seen the road alone must not look like it; nor must it with few looks, which
  // make a swing of any two that happen to lie apart.
  const bool well_seen = evidence.looks_hz >= criteria.looks_per_swing * evidence.swing_rate_hz;
  const int swings_needed =
      commands && well_seen ? criteria.swings_with_valves : criteria.swings_alone;
  const int reslips_needed = swings_needed - 1;
  const bool rhythm = evidence.swing_rate_hz > criteria.slowest_rhythm_hz &&
                      evidence.swing_rate_hz < criteria.fastest_rhythm_hz;
  if (own_answer && evidence.swings >= swings_needed && evidence.reslips >= reslips_needed &&
      rhythm && tests.unanswered == 0 && !long_lock(evidence) && !could_be_tied &&
      evidence.sunk_s < criteria.sunk_longest_s &&
      evidence.void_swings <= criteria.void_swings_most * evidence.swings &&
      (commands ? released : !evidence.valves_visible) &&
      evidence.peak_slip >= criteria.sure_peak && evidence.modulated_stops > 0) {
    outcome.confidence = sound;
    outcome.response = Response::normal;
    const std::string wheel =
        fmt::format("wheel swung {} times into slip and back, {:.1f} a second", evidence.swings,
                    evidence.swing_rate_hz);
    return finish(
        Result::exercised, kind_of(commands, true),
        commands ? fmt::format("{} seen and {}{}",
                               evidence.releases > 0 ? times(evidence.releases, "release")
                                                     : times(evidence.closings, "inlet closing"),
                               wheel,
                               evidence.commands_and_wheel_from_different_logs
                                   ? " (valves and wheel from different logs)"
                                   : "")
                 : wheel + "; no valve channel in the log");
  }

  if (evidence.unbraked && !commands) {
    outcome.response = Response::none;
    outcome.could_also_be = {"a caliper that does not press, or a blocked hose",
                             "one side of the lot had far more grip"};
    return finish(Result::suspect, EvidenceKind::wheel,
                  "the wheel rolled on without slip while the wheels beside and behind it cycled: "
                  "it may not be braked at all (inlet valve stuck shut)");
  }

  // No valve channel: the wheel alone can still look wrong.
  if (!commands && !evidence.valves_visible && evidence.wheel_fast && long_lock(evidence) &&
      evidence.locked_to_the_end && evidence.others_cycled &&
      evidence.longest_lock_s > criteria.lock_wheel_only_s) {
    outcome.response = Response::none;
    outcome.could_also_be = {"the valves were never commanded", "a lost wheel-speed signal"};
    return finish(Result::suspect, EvidenceKind::wheel,
                  fmt::format("wheel locked for {:.2f} s above 15 km/h while other wheels cycled",
                              evidence.longest_lock_s));
  }

  if (commands) {
    std::string reason = evidence.releases > 0
                             ? times(evidence.releases, "release") + " commanded"
                             : times(evidence.closings, "inlet closing") + " commanded, outlet " +
                                   (evidence.outlet_visible ? "not seen to open" : "not logged");
    if (evidence.releases == 0 && rear && evidence.closings < 2)
      return finish(Result::unseen, EvidenceKind::valves,
                    reason + "; this may be the rear balance function alone");
    if (!evidence.wheel_known)
      reason += "; no wheel speed of this corner that could show the answer";
    else if (!evidence.wheel_visible)
      reason += "; no wheel speed fast enough to show the answer";
    else if (evidence.peak_slip < criteria.slip_seen)
      reason += rear ? fmt::format(
                           "; the wheel never slipped ({:.0f} % at most), it may only copy "
                           "its neighbour",
                           100.0 * evidence.peak_slip)
                     : fmt::format("; the wheel never slipped ({:.0f} % at most)",
                                   100.0 * evidence.peak_slip);
    else if (evidence.axle_mean)
      reason += "; one sensor serves both rear wheels";
    else if (tests.answered >= criteria.small_answers && tests.answered == tests.tested &&
             tests.rebuilt + evidence.reslips == 0)
      reason +=
          fmt::format("; {} answered, but no renewed slip shows that the inlet valve opened again",
                      tests.answered == evidence.releases
                          ? std::string("all")
                          : fmt::format("{} of {}", tests.answered, tests.tested));
    else if (evidence.all_unanswered && tests.unanswered > 0)
      reason += fmt::format(
          "; {} of {} left the wheel in slip, as at the other wheels: too slick for any to come "
          "back, or the car's speed was read too high",
          tests.unanswered, tests.tested);
    else if (pump_failed && tests.answered > 0)
      reason += fmt::format(
          "; {} of {} answered, but the answers died out at the other wheels, and one pump serves "
          "all",
          tests.answered, tests.tested);
    else if (tests.sunk > 0)
      reason +=
          "; all wheels may have gone down into slip together, so the car's speed, and with it "
          "the answer, cannot be told";
    else if (tests.answered > 0 && tests.answered < criteria.answered_most * tests.tested)
      reason += fmt::format("; only {} of {} that could be tested were clearly answered",
                            tests.answered, tests.tested);
    else if (tests.answered > 0)
      reason +=
          fmt::format("; {} of {} that could be tested answered, {}", tests.answered, tests.tested,
                      tests.answered <= criteria.small_answers && tests.unanswered == 0
                          ? "too few to be sure"
                          : "the others weigh too much to be sure");
    else
      reason += "; the wheel's answer cannot be told from this log";
    return finish(Result::commanded, EvidenceKind::valves, std::move(reason));
  }

  SilentVerdict silent = judge_silence(evidence);
  return finish(silent.result, silent.evidence, std::move(silent.reason));
}

}  // namespace stopledger
