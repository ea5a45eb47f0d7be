#include "verify/traction.h"

#include <algorithm>
#include <cmath>

#include "signal/series.h"
#include "verify/active_braking.h"
#include "verify/criteria.h"
#include "verify/stability.h"

namespace stopledger {

namespace {

bool may_be_driven(Drive drive, Corner corner) {
  return drive == Drive::unknown || drive == Drive::all ||
         (drive == Drive::front) == is_front(corner);
}

/// When the accelerator pedal was held: looks near its highest of the episode, and not the last
/// one before it was let go (throttle and pedal are not read at the same instant).
std::vector<TimeSpan> held_spans(const Channel* pedal, double from, double to) {
  std::vector<TimeSpan> spans;
  if (!pedal) return {{from, to - criteria.torque_after_s}};  // it may be let go after the spin
  const auto& [t, value] = pedal->series;
  const std::size_t first = first_at_or_after(t, from), last = first_at_or_after(t, to);
  if (last < first + 2) return spans;
  const double high = quantile({value.begin() + static_cast<std::ptrdiff_t>(first),
                                value.begin() + static_cast<std::ptrdiff_t>(last)},
                               0.9);
  if (high < criteria.pedal_least) return spans;
  for (std::size_t i = first; i + 1 < last; ++i) {
    if (value[i] < criteria.pedal_held * high || value[i + 1] < criteria.pedal_held * high)
      continue;
    if (!spans.empty() && spans.back().to_s == t[i])
      spans.back().to_s = t[i + 1];
    else
      spans.push_back({t[i], t[i + 1]});
  }
  return spans;
}

/// Looks at a channel while the pedal was held, from `settle_s` after it went down.
std::vector<double> while_held(const Channel* channel, const std::vector<TimeSpan>& held,
                               double settle_s = 0.0) {
  std::vector<double> values;
  if (!channel) return values;
  const Series& series = channel->series;
  for (const TimeSpan& span : held)
    for (std::size_t i = first_at_or_after(series.t_s, span.from_s + settle_s);
         i < series.size() && series.t_s[i] < span.to_s; ++i)
      values.push_back(series.value[i]);
  return values;
}

/// Whether so many looks of a channel are long enough for a cut.
bool lasts(const Channel& channel, std::ptrdiff_t looks) {
  return static_cast<double>(looks) / std::max(channel.rate_hz.value_or(1.0), 1.0) >=
         criteria.cut_least_s;
}

/// Pulled back from what it was, before or after, under the same pedal. Nothing where it was never
/// seen open as far as the pedal: it may have been cut all the while.
std::optional<bool> throttle_cut(const Channel* throttle, const std::vector<TimeSpan>& held,
                                 double pedal) {
  const auto all = while_held(throttle, held);
  if (all.size() < 3) return std::nullopt;
  const double highest = *std::max_element(all.begin(), all.end());
  const auto settled = while_held(throttle, held, criteria.throttle_settle_s);
  if (lasts(*throttle, std::count_if(settled.begin(), settled.end(), [&](double value) {
        return value < criteria.cut_share * highest;
      })))
    return true;
  if (highest < criteria.cut_share * pedal) return std::nullopt;
  return false;
}

/// Pulled back from what it was just before (later it follows the engine's speed).
std::optional<bool> timing_cut(const Channel* timing, const std::vector<TimeSpan>& held,
                               double spin_from_s) {
  const auto all = while_held(timing, held);
  if (all.size() < 3) return std::nullopt;
  double highest = all.front();
  for (const double value : while_held(
           timing, {{spin_from_s - criteria.torque_before_s, spin_from_s + criteria.cut_least_s}}))
    highest = std::max(highest, value);
  std::ptrdiff_t low = 0;
  for (const double value : all) {
    highest = std::max(highest, value);
    low += value < highest - criteria.cut_timing_rad ? 1 : 0;
  }
  return lasts(*timing, low);
}

/// Whether the log would have shown the unit brake one of these wheels.
bool brake_visible(const PreparedLog& run, const PerCorner<Commands>& commands,
                   const std::vector<Corner>& wheels) {
  if (circuits_watched(run)) return true;
  return std::all_of(wheels.begin(), wheels.end(), [&](Corner corner) {
    const Commands& one = commands[corner];
    return one.inlet_known && !one.inlet_always_on &&
           one.inlet_step_s <= 1.0 / criteria.brake_looks_hz;
  });
}

/// Whether the control itself says when it acts.
bool flag_visible(const PreparedLog& run) {
  const Channel* flag = run.channel(QuantityKind::traction_active);
  return flag && flag->rate_hz.value_or(0.0) >= criteria.brake_looks_hz;
}

}  // namespace

TractionOutcome judge_traction(const PreparedLog& run, const PerCorner<Commands>& commands,
                               const CarFacts& car, const Episode& episode) {
  TractionOutcome outcome;
  const double start = episode.start_s, end = episode.end_s;
  WheelSpin worst;
  for (const Corner corner : all_corners) {
    if (!may_be_driven(car.drive, corner)) continue;
    const WheelSpin spin = wheel_spin(run, corner, start - 0.1, end + 0.1);
    if (spin.longest_s < criteria.spin_time_s) continue;
    outcome.spun.push_back(corner);
    worst.longest_s = std::max(worst.longest_s, spin.longest_s);
    worst.highest_mps = std::max(worst.highest_mps, spin.highest_mps);
  }
  if (!outcome.spun.empty()) {
    outcome.spin_s = worst.longest_s;
    outcome.spin_kmh = worst.highest_mps * 3.6;
  }
  const double from = start - criteria.torque_before_s, to = end + criteria.torque_after_s;
  const Channel* pedal = run.channel(QuantityKind::accelerator);
  const Channel* throttle = run.channel(QuantityKind::throttle);
  const auto held = held_spans(pedal, from, to);
  if (const auto pressed = while_held(pedal, held); !pressed.empty())
    outcome.pedal_pct = 100.0 * quantile(pressed, 0.9);
  if (const auto opened = while_held(throttle, held); opened.size() >= 2)
    outcome.throttle_floor_pct = 100.0 * quantile(opened, 0.05);
  if (pedal)
    outcome.torque_cut = throttle_cut(throttle, held, outcome.pedal_pct.value_or(0.0) / 100.0);
  if (const auto timing = timing_cut(run.channel(QuantityKind::ignition_timing), held, start))
    outcome.torque_cut = outcome.torque_cut.value_or(false) || *timing;
  outcome.braked = braked_by_unit(run, commands, car.split, start - 0.1, end + 0.1);
  if (outcome.torque_cut == true || !outcome.braked.empty() ||
      !pressure_spans(run, start, end).empty())
    outcome.answered = true;
  else if (!outcome.spun.empty() &&
           (flag_visible(run) ||
            (outcome.torque_cut == false &&
             (car.has_isolation_valves == false || brake_visible(run, commands, outcome.spun)))))
    outcome.answered = false;
  return outcome;
}

void judge_control_episode(const PreparedLog& run, const PerCorner<Commands>& commands,
                           const CarFacts& car, Stretch& stretch) {
  if (stretch.episode.kind == EpisodeKind::traction)
    stretch.episode.traction = judge_traction(run, commands, car, stretch.episode);
  else if (stretch.episode.kind == EpisodeKind::stability)
    stretch.episode.stability = judge_stability(run, commands, car, stretch.episode);
}

}  // namespace stopledger
