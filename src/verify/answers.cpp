#include "verify/answers.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "verify/criteria.h"
#include "verify/wheel_looks.h"

namespace stopledger {

namespace {

constexpr double never_s = std::numeric_limits<double>::infinity();

/// The end of a long release (pulses without an apply between) during which the wheel went down for
/// good; nothing where it did not, or only within the last quarter second.
std::optional<Answer> sank_later(const PreparedLog& run, const WheelView& wheel,
                                 const Release& release, double until) {
  const auto looks = looks_between(run, wheel, release.start_s, std::min(release.end_s, until));
  if (looks.size() < 4 || looks.back().t - release.start_s < criteria.sink_s) return std::nullopt;
  Answer answer;
  answer.release_s = looks.back().t;
  double shallowest = 1.0;
  for (auto look = looks.rbegin(); look != looks.rend() && look->slip >= criteria.sunk_slip;
       ++look) {
    answer.release_s = look->t;
    shallowest = std::min(shallowest, look->slip);
  }
  const double down_s = looks.back().t - answer.release_s;
  if (down_s < 0.25 || looks.back().slip < shallowest) return std::nullopt;
  answer.testable = answer.unanswered = true;
  answer.peak_slip = looks.back().slip;
  answer.weight = std::clamp(down_s / 0.3, 1.0, 4.0);
  return answer;
}

/// Releases that share one swing of the wheel are one try at it: the answered one counts, else the
/// last.
void count_swings_once(std::vector<Answer>& answers) {
  const auto leave_out = [](Answer& answer) {
    answer.testable = answer.answered = answer.beyond_doubt = answer.prompt = answer.unanswered =
        answer.doubtful = answer.rebuilt = answer.not_rebuilt = false;
  };
  Answer* kept = nullptr;
  for (Answer& answer : answers) {
    if (!answer.testable) continue;
    if (!kept || kept->peak_t_s != answer.peak_t_s) {
      kept = &answer;
    } else if (kept->answered && !answer.answered) {
      leave_out(answer);
    } else {
      leave_out(*kept);
      kept = &answer;
    }
  }
}

double answer_time(double decel) {
  return std::min(criteria.answer_max_s,
                  criteria.answer_base_s + criteria.answer_grip_s / std::max(decel, 0.5));
}

/// A release, the swing it was meant for and what came after it.
struct Swing {
  double v_mps = 0.0, decel_mps2 = 0.0;  ///< of the car at the release
  double next_s = never_s;               ///< the next release
  double until_s = 0.0;                  ///< end of judging
  double end_s = 0.0;                    ///< an answer comes until then
  SlipLook peak{};                       ///< the deepest slip around the release
  double noise = 0.0;                    ///< a smaller change of slip says nothing
  std::vector<SlipLook> after;           ///< from the peak to `end_s`
  double lowest = 0.0, lowest_t_s = 0.0;
};

/// Nothing where the wheel was not looked at around the release.
std::optional<Swing> swing_at(const PreparedLog& run, const WheelView& wheel,
                              const Commands& commands, std::size_t k, double until_s) {
  const Release& release = commands.releases[k];
  Swing swing;
  swing.v_mps = run.v_at(release.start_s);
  swing.decel_mps2 = -run.a_at(release.start_s);
  swing.until_s = until_s;
  if (k + 1 < commands.releases.size()) swing.next_s = commands.releases[k + 1].start_s;
  // The peak of the swing that this release was meant for: around its start and until the next.
  const double blur = std::max(commands.outlet_step_s, wheel.time_error_s);
  const auto around = looks_between(run, wheel, release.start_s - 0.06 - blur,
                                    std::min({release.start_s + 0.20, swing.next_s, until_s}));
  if (around.size() < 2) return std::nullopt;
  swing.peak =
      *std::max_element(around.begin(), around.end(),
                        [](const SlipLook& x, const SlipLook& y) { return x.slip < y.slip; });
  swing.noise = std::max(criteria.noise_factor * swing.peak.change_sigma,
                         criteria.answer_steps * wheel.quantum_mps / std::max(swing.v_mps, 1.0));
  // However long it is kept up, a release is answered soon after its start or not at all.
  const double kept_up = std::clamp(release.end_s - release.start_s, 0.0, criteria.kept_up_s);
  swing.end_s = std::min({release.start_s + kept_up + answer_time(std::max(0.0, swing.decel_mps2)),
                          swing.next_s + 0.06, until_s});
  swing.after = looks_between(run, wheel, swing.peak.t, swing.end_s);
  swing.lowest = swing.peak.slip;
  swing.lowest_t_s = swing.peak.t;
  for (const SlipLook& look : swing.after)
    if (look.slip < swing.lowest) {
      swing.lowest = look.slip;
      swing.lowest_t_s = look.t;
    }
  return swing;
}

/// When `share` of the fall was over.
double gone_at(const Swing& swing, double share) {
  const double slip = swing.peak.slip - share * (swing.peak.slip - swing.lowest);
  for (const SlipLook& look : swing.after)
    if (look.t <= swing.lowest_t_s && look.slip <= slip) return look.t;
  return swing.lowest_t_s;
}

/// Did the wheel come back, in time and not too soon, or stay in slip?
void judge_fall(Answer& answer, const Release& release, const WheelView& wheel,
                const Swing& swing) {
  const double peak = swing.peak.slip, drop = peak - swing.lowest;
  answer.answered = drop >= std::max(criteria.min_drop, swing.noise) &&
                    drop >= criteria.answered_share_of_peak * peak;
  answer.beyond_doubt = answer.answered && peak >= criteria.sure_peak && drop >= 0.5 * peak &&
                        drop >= 1.5 * swing.noise && swing.lowest <= 0.4;
  if (answer.answered) {
    answer.prompt = wheel.rate_hz >= criteria.plenty_hz &&
                    std::abs(swing.peak.t - release.start_s) <= criteria.prompt_s &&
                    gone_at(swing, 0.5) - release.start_s <= 2.0 * criteria.prompt_s;
    answer.delay_s = std::max(0.0, gone_at(swing, 0.5) - release.start_s);
    // Slip that was falling before any valve could have let it go says nothing of this one.
    if (!release.start_seen || gone_at(swing, criteria.gone_before) + wheel.time_error_s <
                                   release.earliest_s + criteria.answer_soonest_s) {
      answer.too_soon = true;
      answer.testable = answer.answered = answer.beyond_doubt = answer.prompt = false;
    }
    // Falling speed, a patch of grip or the driver easing off ends any slip in the end.
    const double way_up = std::min(1.0, peak * swing.v_mps / criteria.late_grip_mps);
    if (answer.delay_s >
        criteria.answer_base_s + way_up * criteria.late_grip_s / std::max(swing.decel_mps2, 0.5))
      answer.answered = answer.beyond_doubt = answer.prompt = false;
  } else if (drop < criteria.unanswered_share_of_peak * peak + swing.peak.sigma &&
             peak >= criteria.slip_deep && swing.end_s - release.start_s >= 0.25 &&

             swing.v_mps >= criteria.lock_floor_mps) {
    // A release that goes on and on at a wheel that stays down is many unanswered ones.
    answer.unanswered = true;
    const double held = std::min(swing.until_s, swing.next_s) - release.start_s;
    answer.weight =
        std::clamp(std::min(held, release.end_s - release.start_s + 0.3) / 0.3, 1.0, 4.0);
  }
  const bool untold = !answer.answered && !answer.unanswered;
  answer.doubtful = untold && swing.v_mps >= criteria.lock_floor_mps && !swing.after.empty() &&
                    swing.after.back().slip >= criteria.lock_slip;
  // Too late in the stop for an answer, or slip went on rising until the next release: that one
  // tells.
  if (untold && !answer.doubtful &&
      (swing.until_s - release.start_s < criteria.answer_base_s ||
       swing.peak.t > swing.next_s - criteria.calm_s))
    answer.testable = false;
}

/// After an answer: renewed slip, or did the wheel keep rolling free under apply?
void judge_reapply(Answer& answer, const PreparedLog& run, const WheelView& wheel,
                   const Release& release, const Swing& swing) {
  const bool last = swing.next_s == never_s;
  const double watch_to =
      std::min(swing.until_s, last ? swing.lowest_t_s + 1.5 : swing.next_s + 0.25);
  double lowest = swing.peak.slip;
  for (const SlipLook& look : looks_between(run, wheel, swing.peak.t, watch_to)) {
    lowest = std::min(lowest, look.slip);
    answer.rebuilt =
        answer.rebuilt || (look.slip - lowest >= std::max(criteria.min_drop, swing.noise) &&
                           look.slip >= criteria.slip_seen);
  }
  const double free_from = std::max(release.apply_s.value_or(never_s), swing.lowest_t_s);
  if (answer.rebuilt || !last || answer.peak_slip < criteria.slip_deep ||
      swing.until_s - free_from < criteria.rebuild_wait_s)
    return;
  const auto rolled = looks_between(run, wheel, free_from + 0.3, swing.until_s);
  double slip = 0.0;
  for (const SlipLook& look : rolled) slip += look.slip;
  const auto n = static_cast<double>(rolled.size());
  if (rolled.size() >= 4 && slip / n < criteria.free_slip + 2.0 * swing.peak.sigma / std::sqrt(n)) {
    answer.not_rebuilt = true;
    answer.free_from_s = free_from;
  }
}

/// What several releases tell of each other.
void weigh_together(std::vector<Answer>& answers, bool turned, bool sunk) {
  count_swings_once(answers);
  // In a slide the wheels' slip is not what it seems: no fault is read from it.
  if (turned)
    for (Answer& answer : answers) {
      answer.doubtful = answer.doubtful || answer.unanswered;
      answer.unanswered = answer.not_rebuilt = false;
    }
  // Against a speed that may have sunk with the wheels, coming back to it is no proof.
  if (sunk)
    for (Answer& answer : answers) {
      answer.sunk = answer.answered;
      answer.beyond_doubt = answer.prompt = false;
    }
  // A short pulse may let out too little, and the control sends the next one: where that one is
  // answered beyond doubt, both were one answer.
  for (std::size_t k = 0; k + 1 < answers.size(); ++k)
    if (answers[k].unanswered && answers[k + 1].beyond_doubt &&
        answers[k + 1].release_s - answers[k].release_s < criteria.second_try_s)
      answers[k].unanswered = false;
  // A deep lock takes several: those before the one that ended it leave no doubt of their own.
  for (std::size_t k = answers.size(); k-- > 1;)
    for (std::size_t j = k; answers[k].beyond_doubt && j-- > 0 && answers[j].doubtful &&
                            answers[k].release_s - answers[j].release_s < criteria.answer_max_s;)
      answers[j].doubtful = false;
}

}  // namespace

std::vector<Answer> weigh_releases(const PreparedLog& run, Corner corner, const Commands& commands,
                                   const Stretch& stretch) {
  std::vector<Answer> answers;
  const WheelView& wheel = run.wheels[corner];
  const double until = stretch.judged_to_s;
  for (std::size_t k = 0; k < commands.releases.size(); ++k) {
    const Release& release = commands.releases[k];
    if (release.start_s < stretch.episode.start_s - 0.3 || release.start_s > until) continue;
    Answer answer;
    answer.release_s = release.start_s;
    const bool seen =
        wheel.known && run.has_slip && run.v_at(release.start_s) >= criteria.judge_floor_mps;
    const auto swing = seen ? swing_at(run, wheel, commands, k, until) : std::nullopt;
    if (!swing) {
      answers.push_back(answer);
      continue;
    }
    answer.peak_slip = swing->peak.slip;
    answer.peak_t_s = swing->peak.t;
    const double level =
        std::max({criteria.slip_least, criteria.level_factor * swing->peak.sigma, swing->noise});
    answer.testable = swing->after.size() >= 2 && wheel.rate_hz >= criteria.fast_wheel_hz &&
                      commands.outlet_step_s <= criteria.release_step_s &&
                      swing->decel_mps2 > -criteria.brake_decel_mps2 &&
                      swing->decel_mps2 < criteria.impossible_mps2 && answer.peak_slip >= level;
    if (answer.testable) judge_fall(answer, release, wheel, *swing);
    if (answer.answered) judge_reapply(answer, run, wheel, release, *swing);
    const auto sank = answer.testable && !answer.unanswered
                          ? sank_later(run, wheel, release, std::min(until, swing->next_s))
                          : std::nullopt;
    if (!sank || answer.answered) answers.push_back(answer);
    if (sank) answers.push_back(*sank);
  }
  weigh_together(answers, stretch.turned, stretch.sunk);
  return answers;
}

}  // namespace stopledger
