#include "judge/control_tally.h"

#include <algorithm>

namespace stopledger::control_cases {

namespace {

bool overlaps(const Episode& episode, const TrueEpisode& truth) {
  return episode.start_s < truth.end_s + 0.3 && episode.end_s > truth.start_s - 0.3;
}

/// Long and high enough that nobody would call it a slip of the moment.
bool matters(const TrueEpisode& truth) {
  return truth.stability ? truth.end_s - truth.start_s > 0.2 : truth.spin_s > 0.5 || truth.answered;
}

void judge_episode(const ControlRun& run, const Episode& episode, const TrueEpisode& truth,
                   Tally& tally) {
  if (truth.stability && episode.stability) {
    const StabilityOutcome& said = *episode.stability;
    if (truth.tendency != Tendency::none) {
      ++tally.tendency;
      tally.tendency_right += said.tendency == truth.tendency;
      tally.tendency_wrong += said.tendency != truth.tendency && said.tendency != Tendency::none;
    }
  }
  if (!truth.stability && episode.traction && (run.throttle_logged || run.timing_logged)) {
    ++tally.cut;
    const auto& said = episode.traction->torque_cut;
    tally.cut_right += said == truth.torque_cut;
    tally.cut_wrong += said && *said != truth.torque_cut;
  }
  const std::vector<Corner>* braked = nullptr;
  if (truth.stability && episode.stability) braked = &episode.stability->braked;
  if (!truth.stability && episode.traction) braked = &episode.traction->braked;
  if (!braked || !run.valves_logged) return;
  const auto in = [](const std::vector<Corner>& corners, Corner corner) {
    return std::find(corners.begin(), corners.end(), corner) != corners.end();
  };
  for (const Corner corner : all_corners) {
    tally.braked += in(truth.braked, corner);
    tally.braked_right += in(truth.braked, corner) && in(*braked, corner);
    tally.braked_wrong += in(*braked, corner) && !in(truth.touched, corner);
  }
}

}  // namespace

void judge_control_run(const ControlRun& run, const CheckOutcome& outcome, Tally& tally) {
  bool unanswered = false;
  for (const TrueEpisode& truth : run.truth) {
    if (!matters(truth)) continue;
    ++tally.truth;
    unanswered = unanswered || (!truth.stability && !truth.answered && truth.spin_s > 1.0 &&
                                (run.throttle_logged || run.timing_logged) && run.valves_logged);
    const EpisodeKind kind = truth.stability ? EpisodeKind::stability : EpisodeKind::traction;
    for (const Episode& episode : outcome.episodes)
      if (episode.kind == kind && overlaps(episode, truth)) {
        ++tally.found;
        judge_episode(run, episode, truth, tally);
        break;
      }
  }
  for (const Episode& episode : outcome.episodes) {
    if (episode.kind != EpisodeKind::stability && episode.kind != EpisodeKind::traction) continue;
    // A wheel that spins in a slide is an episode too, and part of the slide in truth.
    const bool real = std::any_of(run.truth.begin(), run.truth.end(), [&](const TrueEpisode& t) {
      return (t.stability || episode.kind == EpisodeKind::traction) && overlaps(episode, t);
    });
    tally.false_alarm += real ? 0 : 1;
  }
  const bool said =
      std::any_of(outcome.findings.begin(), outcome.findings.end(),
                  [](const Finding& finding) { return finding.id == "control-never-answered"; });
  tally.unanswered += unanswered;
  tally.unanswered_said += unanswered && said;
  const bool any = std::any_of(run.truth.begin(), run.truth.end(),
                               [](const TrueEpisode& t) { return !t.stability && !t.answered; });
  tally.unanswered_false += said && !any;
}

}  // namespace stopledger::control_cases
