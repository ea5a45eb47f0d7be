#include "verify/silence.h"

#include <fmt/format.h>

#include <cmath>
#include <utility>

#include "verify/count_words.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

std::string looks_text(const CornerEvidence& evidence) {
  return fmt::format("looked at {:.3g} times a second", 1.0 / evidence.slowest_step_s);
}

SilentVerdict verdict(Result result, EvidenceKind evidence, std::string reason) {
  return {result, evidence, std::move(reason)};
}

}  // namespace

SilentVerdict judge_silence(const CornerEvidence& evidence) {
  if (evidence.balance_releases > 0)
    return verdict(
        Result::commanded, EvidenceKind::valves,
        fmt::format("{} with quiet fronts: the rear balance function, or a rear wheel about "
                    "to lock; no answer of the wheel is shown",
                    times(evidence.balance_releases, "release")));
  if (evidence.movements > 0 && !evidence.speed_hint.empty())
    return verdict(Result::commanded, EvidenceKind::valves,
                   fmt::format("moved {}; whether in a stop is not shown, because {}",
                               times(evidence.movements, "time"), evidence.speed_hint));
  if (evidence.movements > 0)
    return verdict(
        Result::commanded, EvidenceKind::valves,
        fmt::format("moved {} by the stability or traction function or by a tool test; no "
                    "anti-lock release",
                    times(evidence.movements, "time")));

  if (evidence.stops == 0) {
    std::string reason = "no stop in the log, so nothing was asked of this corner";
    if (!evidence.speed_hint.empty()) reason = "no stop was found, but " + evidence.speed_hint;
    if (evidence.self_tests > 0)
      reason = "only the drive-off self-test is in the log; it never counts as exercise";
    return verdict(Result::unseen, EvidenceKind::none, std::move(reason));
  }
  if (evidence.judged_s <= 0.0)
    return verdict(Result::unseen, EvidenceKind::none,
                   "the car was braked only at a crawl, where the control does not work");
  if (evidence.column_stuck && !evidence.valves_visible)
    return verdict(Result::unseen, EvidenceKind::none,
                   "the valve column never changes: it is stuck or not what its name says");
  if (!evidence.valves_visible) {
    return verdict(
        Result::unseen, EvidenceKind::none,
        evidence.wheel_visible
            ? fmt::format("no valve channel, and the wheel's slip (up to {:.0f} %) shows no "
                          "clear cycle",
                          100.0 * evidence.peak_slip)
            : std::string("neither valves nor a usable wheel speed of this corner are in the log"));
  }
  if (evidence.elsewhere > 0)
    return verdict(Result::unseen, EvidenceKind::valves,
                   fmt::format("{} in the log, but outside any braking that could be judged",
                               times(evidence.elsewhere, "release")));
  if (evidence.slowest_step_s <= 0.0)
    return verdict(Result::unseen, EvidenceKind::none,
                   "the valves were not looked at while the car braked");
  if (evidence.unwatched_control)
    return verdict(
        Result::unseen, EvidenceKind::none,
        "no release seen, but the control was or may have been at work in a stop whose log "
        "lacks this corner's valves");
  // A wheel that was followed and never came near slip, in a session without control anywhere,
  // asked for nothing that could be missed.
  const bool never_needed = evidence.wheel_fast && evidence.modulated_stops == 0 &&
                            evidence.peak_slip < criteria.slip_unneeded;
  const double longest_step_s =
      never_needed ? criteria.idle_step_unneeded_s
      : evidence.peak_slip >= criteria.slip_deep && evidence.sunk_s < criteria.sunk_longest_s
          ? criteria.idle_step_slipping_s
          : criteria.idle_step_s;
  if (evidence.few_catch >= criteria.idle_catch && evidence.slowest_step_s > longest_step_s)
    return verdict(Result::unseen, EvidenceKind::none,
                   fmt::format("no release seen, but the valves were {}: short releases may have "
                               "fallen between the looks",
                               looks_text(evidence)));
  if (evidence.few_catch < criteria.idle_catch)
    return verdict(Result::unseen, EvidenceKind::none,
                   fmt::format("no release seen, but the valves were {} and the log would have "
                               "caught one with {:.0f} % only",
                               looks_text(evidence), std::floor(100.0 * evidence.few_catch)));
  std::string reason =
      fmt::format("no release seen, and the log would have caught one with {:.1f} % ({})",
                  std::floor(1000.0 * evidence.few_catch) / 10.0, looks_text(evidence));
  if (evidence.balance > 0)
    reason =
        "rear balance function only: the fronts stayed quiet, so this was no anti-lock exercise";
  else if (evidence.glitches > 0)
    reason = "one stray sample only, which no wheel or inlet supports; " + reason;
  else if (evidence.modulated_stops == 0)
    reason = (evidence.peak_slip < criteria.slip_deep
                  ? std::string("no hard enough braking: the control was never at work; ")
                  : fmt::format("the wheel slipped up to {:.0f} %, yet the control was never at "
                                "work; ",
                                100.0 * evidence.peak_slip)) +
             reason;
  else if (evidence.wheel_visible && evidence.peak_slip < criteria.slip_deep)
    reason +=
        fmt::format("; the wheel slipped {:.0f} % at most, so it may not have been needed here",
                    100.0 * evidence.peak_slip);
  return verdict(Result::idle, EvidenceKind::valves, std::move(reason));
}

}  // namespace stopledger
