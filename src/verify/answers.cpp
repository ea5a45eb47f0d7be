#include "verify/answers.h"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <utility>

#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// After the start of a release: on grip the wheel is back soon, on ice late (answer_grip_s).
constexpr std::array<std::pair<double, double>, 3> answer_windows{
    {{0.06, 0.16}, {0.14, 0.28}, {0.26, 0.45}}};

struct Look {
  double t, slip, sigma;
  double change_sigma;  ///< of the difference of two looks close in time
};

/// The wheel's slips within [from, to], where they can be judged.
std::vector<Look> looks_between(const PreparedLog& run, const WheelView& wheel, double from,
                                double to) {
  std::vector<Look> looks;
  for (std::size_t i = first_at_or_after(wheel.t_s, from); i < wheel.t_s.size(); ++i) {
    if (wheel.t_s[i] > to) break;
    const double v = run.v_at(wheel.t_s[i]);
    if (std::isnan(wheel.slip[i]) || std::isnan(v) || v < criteria.judge_floor_mps) continue;
    looks.push_back({wheel.t_s[i], wheel.slip[i],
                     wheel.slip_sigma(v, run.a_at(wheel.t_s[i]), run.ref_sigma_mps),
                     wheel.change_sigma(v)});
  }
  return looks;
}

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
    answer.testable = answer.answered = answer.beyond_doubt = answer.unanswered = answer.doubtful =
        answer.rebuilt = answer.not_rebuilt = false;
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

}  // namespace

WheelEvidence look_at_wheel(const PreparedLog& run, Corner corner, const Stretch& stretch) {
  WheelEvidence evidence;
  const WheelView& wheel = run.wheels[corner];
  if (!wheel.known || !run.has_slip) return evidence;
  const std::vector<Look> looks =
      looks_between(run, wheel, stretch.judged_from_s, stretch.judged_to_s);
  evidence.looks_hz = looks.size() >= 2 ? static_cast<double>(looks.size() - 1) /
                                              std::max(looks.back().t - looks.front().t, 1e-6)
                                        : 0.0;
  if (looks.size() < 4 || evidence.looks_hz < criteria.slow_wheel_hz) return evidence;
  evidence.visible = true;
  evidence.fast = evidence.looks_hz >= criteria.fast_wheel_hz;

  // Swings by hysteresis: a peak, then a fall that is far above the noise, then a renewed rise.
  double peak = 0.0, trough = 0.0, peak_t = looks.front().t, lock_from = -1.0;
  bool falling = false;  // after a peak was left
  bool slipped = false;
  double free_from = -1.0, sunk_from = -1.0;
  std::vector<double> peaks_at;
  for (std::size_t i = 0; i < looks.size(); ++i) {
    const Look& look = looks[i];
    const double step = i > 0 ? look.t - looks[i - 1].t : 0.0;
    const double v = run.v_at(look.t);
    // The deepest slip that was more than one stray look.
    const double pair = i > 0 ? std::min(look.slip, looks[i - 1].slip) : 0.0;
    evidence.peak_slip = std::max(evidence.peak_slip, evidence.looks_hz > 30 ? pair : look.slip);
    if (look.slip < criteria.sunk_slip)
      sunk_from = -1.0;
    else if (sunk_from < 0.0)
      sunk_from = look.t;
    else
      evidence.sunk_s = std::max(evidence.sunk_s, look.t - sunk_from);
    if (look.slip > criteria.lock_slip && v > criteria.lock_floor_mps) {
      if (lock_from < 0.0) lock_from = look.t;
      evidence.locked_s += step;
      evidence.longest_lock_s = std::max(evidence.longest_lock_s, look.t - lock_from);
      evidence.locked_to_the_end = true;
    } else {
      lock_from = -1.0;
      if (look.slip < 0.5) evidence.locked_to_the_end = false;
    }
    const double least = std::max({evidence.fast ? criteria.min_drop : criteria.slow_drop,
                                   criteria.noise_factor * look.sigma,
                                   criteria.answer_steps * wheel.quantum_mps / std::max(v, 1.0)});
    const double enough = evidence.fast ? criteria.slip_seen + look.sigma : criteria.slow_peak;
    if (!falling) {
      if (look.slip > peak) {
        peak = look.slip;
        peak_t = look.t;
      }
      if (peak >= enough && peak - look.slip >= least &&
          look.slip <= (1.0 - criteria.answered_share_of_peak) * peak) {
        ++evidence.swings;
        peaks_at.push_back(peak_t);
        falling = true;
        trough = look.slip;
      }
    } else {
      trough = std::min(trough, look.slip);
      if (look.slip - trough >= least && look.slip >= enough) {
        ++evidence.reslips;
        falling = false;
        peak = look.slip;
        peak_t = look.t;
      }
    }
    slipped = slipped || look.slip > criteria.slip_deep;
    if (slipped && look.slip < criteria.free_slip + 1.0 * look.sigma) {
      if (free_from < 0.0) free_from = look.t;
      evidence.free_s = std::max(evidence.free_s, look.t - free_from);
    } else {
      free_from = -1.0;
    }
  }
  if (peaks_at.size() >= 2)
    evidence.swing_rate_hz = static_cast<double>(peaks_at.size() - 1) /
                             std::max(peaks_at.back() - peaks_at.front(), 1e-3);
  return evidence;
}

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
    const double v = run.v_at(release.start_s), a = run.a_at(release.start_s);
    if (!wheel.known || !run.has_slip || std::isnan(v) || v < criteria.judge_floor_mps) {
      answers.push_back(answer);
      continue;
    }
    const double allowed = answer_time(std::max(0.0, -a));
    const double next = k + 1 < commands.releases.size() ? commands.releases[k + 1].start_s : 1e300;
    const double blur = std::max(commands.outlet_step_s, wheel.time_error_s);
    // The peak of the swing that this release was meant for: around its start and until the next.
    const double early = release.start_s - 0.06 - blur;
    const auto around =
        looks_between(run, wheel, early, std::min({release.start_s + 0.20, next, until}));
    if (around.empty() || around.size() < 2) {
      answers.push_back(answer);
      continue;
    }
    const auto peak = std::max_element(
        around.begin(), around.end(), [](const Look& x, const Look& y) { return x.slip < y.slip; });
    answer.peak_slip = peak->slip;
    answer.peak_t_s = peak->t;
    const double noise = std::max(criteria.noise_factor * peak->change_sigma,
                                  criteria.answer_steps * wheel.quantum_mps / std::max(v, 1.0));
    const double level =
        std::max({criteria.slip_least, criteria.level_factor * peak->sigma, noise});
    // However long it is kept up, a release is answered soon after its start or not at all.
    const double kept_up = std::clamp(release.end_s - release.start_s, 0.0, criteria.kept_up_s);
    const double end = std::min({release.start_s + kept_up + allowed, next + 0.06, until});
    const auto after = looks_between(run, wheel, peak->t, end);
    const bool looked_enough = after.size() >= 2 && wheel.rate_hz >= criteria.fast_wheel_hz;
    answer.testable = looked_enough && peak->slip >= level;
    if (answer.testable) {
      double lowest = peak->slip, lowest_t = peak->t;
      for (const Look& look : after)
        if (look.slip < lowest) {
          lowest = look.slip;
          lowest_t = look.t;
        }
      const double drop = peak->slip - lowest;
      const double watched = end - release.start_s;
      answer.answered = drop >= std::max(criteria.min_drop, noise) &&
                        drop >= criteria.answered_share_of_peak * peak->slip;
      answer.beyond_doubt = answer.answered && peak->slip >= criteria.sure_peak &&
                            drop >= 0.5 * peak->slip && drop >= 1.5 * noise && lowest <= 0.4;
      if (answer.answered) {
        const auto gone = [&](double share) {
          for (const Look& look : after)
            if (look.t <= lowest_t && look.slip <= peak->slip - share * drop) return look.t;
          return lowest_t;
        };
        answer.delay_s = std::max(0.0, gone(0.5) - release.start_s);
        // Slip that was falling before any valve could have let it go says nothing of this one.
        if (gone(criteria.gone_before) + wheel.time_error_s <
            release.earliest_s + criteria.answer_soonest_s) {
          answer.too_soon = true;
          answer.testable = answer.answered = answer.beyond_doubt = false;
        }
        // Falling speed, a patch of grip or the driver easing off ends any slip in the end.
        const double in_time = criteria.answer_base_s + criteria.late_grip_s / std::max(-a, 0.5);
        if (answer.delay_s > in_time + std::min(release.outlet_on_s, criteria.pulse_long_s))
          answer.answered = answer.beyond_doubt = false;
      } else if (drop < criteria.unanswered_share_of_peak * peak->slip + peak->sigma &&
                 peak->slip >= criteria.slip_deep && watched >= 0.25 &&
                 v >= criteria.lock_floor_mps) {
        // A release that goes on and on at a wheel that stays down is many unanswered ones.
        answer.unanswered = true;
        const double held = std::min(until, next) - release.start_s;
        answer.weight =
            std::clamp(std::min(held, release.end_s - release.start_s + 0.3) / 0.3, 1.0, 4.0);
      }
      answer.doubtful = !answer.answered && !answer.unanswered && !after.empty() &&
                        after.back().slip >= criteria.lock_slip;
      // Re-apply: renewed slip after the trough, or the wheel kept rolling free under apply.
      if (answer.answered) {
        const double watch_to = std::min(until, next < 1e299 ? next + 0.25 : lowest_t + 1.5);
        const auto later = looks_between(run, wheel, lowest_t, watch_to);
        double highest = lowest;
        double mean = 0.0;
        for (const Look& look : later) {
          highest = std::max(highest, look.slip);
          mean += look.slip;
        }
        if (!later.empty()) mean /= static_cast<double>(later.size());
        answer.rebuilt =
            highest - lowest >= std::max(criteria.min_drop, noise) && highest >= criteria.slip_seen;
        const double apply_from = release.apply_s.value_or(1e300);
        const double watched_apply = until - std::max(apply_from, lowest_t);
        if (!answer.rebuilt && next > 1e299 && answer.peak_slip >= criteria.slip_deep &&
            watched_apply >= criteria.rebuild_wait_s) {
          const auto rolled =
              looks_between(run, wheel, std::max(apply_from, lowest_t) + 0.3, until);
          double slip = 0.0;
          for (const Look& look : rolled) slip += look.slip;
          if (rolled.size() >= 4 &&
              slip / static_cast<double>(rolled.size()) <
                  criteria.free_slip +
                      2.0 * peak->sigma / std::sqrt(static_cast<double>(rolled.size()))) {
            answer.not_rebuilt = true;
            answer.free_from_s = std::max(apply_from, lowest_t);
          }
        }
      }
    }
    const auto sank = answer.testable && !answer.unanswered
                          ? sank_later(run, wheel, release, std::min(until, next))
                          : std::nullopt;
    if (!sank || answer.answered) answers.push_back(answer);
    if (sank) answers.push_back(*sank);
  }
  count_swings_once(answers);
  // In a slide the wheels' slip is not what it seems: no fault is read from it.
  if (stretch.turned)
    for (Answer& answer : answers) {
      answer.doubtful = answer.doubtful || answer.unanswered;
      answer.unanswered = answer.not_rebuilt = false;
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
  return answers;
}

std::vector<SlipAround> slips_around(const PreparedLog& run, Corner corner,
                                     const Commands& commands, const Stretch& stretch) {
  std::vector<SlipAround> result;
  const WheelView& wheel = run.wheels[corner];
  if (!wheel.known || !run.has_slip) return result;
  const auto mean = [&](double from, double to) -> std::optional<double> {
    double sum = 0.0;
    const auto looks = looks_between(run, wheel, from, to);
    for (const Look& look : looks) sum += look.slip;
    if (looks.empty()) return std::nullopt;
    return sum / static_cast<double>(looks.size());
  };
  const double blur = std::max(commands.outlet_step_s, wheel.time_error_s);
  for (std::size_t k = 0; k < commands.releases.size(); ++k) {
    const double start = commands.releases[k].start_s;
    if (start < stretch.judged_from_s || start > stretch.judged_to_s) continue;
    const double next =
        k + 1 < commands.releases.size() ? commands.releases[k + 1].start_s - 0.02 : 1e300;
    const auto before = mean(start - 0.05 - blur, start + 0.04);
    if (!before) continue;
    SlipAround one;
    one.before = *before;
    for (std::size_t w = 0; w < one.after.size(); ++w) {
      const double to = std::min({start + answer_windows[w].second, next, stretch.judged_to_s});
      if (to > start + answer_windows[w].first)
        one.after[w] = mean(start + answer_windows[w].first, to);
    }
    result.push_back(one);
  }
  return result;
}

std::optional<PooledAnswer> pool_answers(std::span<const SlipAround> slips) {
  std::optional<PooledAnswer> best;
  for (std::size_t w = 0; w < answer_windows.size(); ++w) {
    double n = 0.0, before = 0.0, sum = 0.0, squares = 0.0;
    for (const SlipAround& one : slips) {
      if (!one.after[w]) continue;
      const double drop = one.before - *one.after[w];
      n += 1.0, before += one.before, sum += drop, squares += drop * drop;
    }
    if (n < criteria.pool_least) continue;
    PooledAnswer pooled;
    pooled.releases = static_cast<int>(n);
    pooled.before = before / n;
    pooled.drop = sum / n;
    const double variance = std::max((squares - sum * sum / n) / (n - 1.0), 1e-9);
    const double t = pooled.drop / std::sqrt(variance / n);
    const boost::math::students_t student(n - 1.0);
    pooled.p = std::min(1.0, static_cast<double>(answer_windows.size()) *
                                 boost::math::cdf(boost::math::complement(student, t)));
    if (!best || pooled.p < best->p) best = pooled;
  }
  return best;
}

}  // namespace stopledger
