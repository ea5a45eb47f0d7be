#include "verify/evidence.h"

#include <algorithm>
#include <cmath>

#include "signal/catch.h"
#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// Commands this long before and after a braking belong to it (chosen: the last pulse outlasts it).
constexpr double around_s = 0.3;

bool has_context(const Stretch& stretch) {
  return stretch.braking && stretch.episode.kind != EpisodeKind::stability &&
         stretch.episode.kind != EpisodeKind::traction;
}

/// What is expected of a valve's commands. Rears that cycle at all do so as often as the fronts
/// (often as a pair, select-low), so one rate serves all corners.
PulsePrior command_prior(double length_median_s, double length_doubt_ln) {
  return {length_median_s, 0.4, length_doubt_ln, criteria.cycle_rate_hz,
          criteria.cycle_rate_sigma_ln};
}

const Channel* find_valve(const PreparedLog& run, QuantityKind quantity, Corner corner) {
  if (const Channel* own = run.log->find(Role::at(quantity, corner))) return own;
  return is_front(corner) ? nullptr : run.log->find(Role::rear(quantity));
}

/// The looks at a channel around a stretch.
std::span<const double> looks_around(const Channel& channel, double from_s, double to_s) {
  const auto& t = channel.series.t_s;
  const std::size_t first = first_at_or_after(t, from_s - 2.0);
  const std::size_t last = first_at_or_after(t, to_s + 2.0);
  return std::span(t).subspan(first, last - first);
}

/// The looks that do not fall together with one of the others: those alone can see what the others
/// miss.
std::vector<double> looks_apart(std::span<const double> looks, std::span<const double> others) {
  constexpr double together_s = 0.002;  // chosen: half of the shortest pulse (5 ms, CT-26)
  std::vector<double> apart;
  std::size_t i = 0;
  for (const double t : looks) {
    while (i < others.size() && others[i] < t - together_s) ++i;
    if (i == others.size() || others[i] > t + together_s) apart.push_back(t);
  }
  return apart;
}

/// Chance that this log would have shown a command at this corner during this stretch.
/// `rate_hz`: cycles a second, with short closings, that are taken as sure instead of the usual
/// ones; 0 keeps those.
double chance_of_seeing(const PreparedLog& run, Corner corner, const Stretch& stretch,
                        double rate_hz = 0.0) {
  const double from = stretch.judged_from_s;
  // Commands are counted a little beyond the judged part; what must hold for `idle` is not.
  const double to = std::max(stretch.judged_to_s, from) + (rate_hz > 0.0 ? 0.0 : around_s);
  PulsePrior release = command_prior(criteria.pulse_median_s, criteria.pulse_sigma_ln);
  PulsePrior closing =
      command_prior(rate_hz > 0.0 ? criteria.closing_short_s : criteria.closing_median_s,
                    criteria.closing_sigma_ln);
  if (rate_hz > 0.0)
    for (PulsePrior* prior : {&release, &closing}) {
      // At least one cycle, however short the stop.
      prior->rate_median_hz = std::max(rate_hz, 1.0 / std::max(to - from, 0.1));
      prior->rate_doubt_ln = 0.0;
    }
  std::vector<CatchWatch> watches;
  std::span<const double> seen;
  for (const QuantityKind quantity : {QuantityKind::inlet, QuantityKind::valve})
    if (const Channel* channel = find_valve(run, quantity, corner); channel && watches.empty()) {
      seen = looks_around(*channel, from, to);
      watches.push_back({closing, {from, to, seen}});
    }
  std::vector<double> apart;
  if (const Channel* outlet = find_valve(run, QuantityKind::outlet, corner)) {
    apart = looks_apart(looks_around(*outlet, from, to), seen);
    watches.push_back({release, {from, to, apart}});
  }
  return watches.empty() ? 0.0 : catch_by_any(watches);
}

/// A lone sample that nothing supports: outlet on once while the inlet was off and the wheel
/// rolled.
bool is_glitch(const std::vector<Release>& releases, const Commands& commands,
               const CornerEvidence& evidence) {
  if (releases.size() != 1 || releases.front().looks != 1) return false;
  if (evidence.wheel_visible && evidence.peak_slip >= criteria.slip_seen) return false;
  const double t = releases.front().start_s;
  const double near = std::max(commands.inlet_step_s, commands.outlet_step_s) * 1.5;
  const bool inlet_near =
      std::any_of(commands.closings.begin(), commands.closings.end(), [&](const OnRun& closing) {
        return closing.first_on_s <= t + near && closing.last_on_s >= t - near;
      });
  if (inlet_near) return false;
  return commands.inlet_known || commands.outlet_step_s <= criteria.exact_step_s;
}

double rate_of(const std::vector<double>& times) {
  if (times.size() < 2) return 0.0;
  return static_cast<double>(times.size() - 1) / std::max(times.back() - times.front(), 1e-3);
}

}  // namespace

JudgedStretch collect(const PreparedLog& run, const PerCorner<Commands>& commands,
                      const Stretch& stretch, const CarFacts& car) {
  JudgedStretch judged;
  judged.stretch = stretch;
  judged.run = run.index;
  const double start = stretch.episode.start_s - around_s, end = stretch.episode.end_s + around_s;
  const bool anti_lock = has_context(stretch);
  PerCorner<std::vector<Release>> releases;
  PerCorner<int> closings;

  for (const Corner corner : all_corners) {
    CornerEvidence& evidence = judged.corners[corner];
    const Commands& command = commands[corner];
    evidence.valves_visible = (command.inlet_known && !command.inlet_always_on) ||
                              (command.outlet_known && !command.outlet_always_on);
    evidence.outlet_visible = command.outlet_known && !command.outlet_always_on;
    evidence.column_stuck = command.inlet_always_on || command.outlet_always_on;
    const double inlet_step = command.inlet_known ? command.inlet_step_s : 1e9;
    const double outlet_step = command.outlet_known ? command.outlet_step_s : 1e9;
    evidence.slowest_step_s =
        std::min(inlet_step, outlet_step) < 1e8 ? std::min(inlet_step, outlet_step) : 0.0;
    for (const Release& release : command.releases)
      if (release.start_s >= start && release.start_s <= end) releases[corner].push_back(release);
    for (const OnRun& closing : command.closings)
      if (closing.first_on_s <= end && closing.last_on_s >= start) ++closings[corner];
    for (const OnRun& hold : command.holds)
      if (hold.first_on_s <= end && hold.last_on_s >= start) ++evidence.holds;
    if (stretch.braking) {
      evidence.judged_s = std::max(0.0, stretch.judged_to_s - stretch.judged_from_s);
      const WheelEvidence wheel = look_at_wheel(run, corner, stretch);
      evidence.wheel_known = run.wheels[corner].known;
      evidence.wheel_visible = wheel.visible;
      evidence.wheel_fast = wheel.fast;
      evidence.looks_hz = wheel.looks_hz;
      evidence.axle_mean = run.wheels[corner].axle_mean;
      for (const QuantityKind quantity :
           {QuantityKind::inlet, QuantityKind::outlet, QuantityKind::valve})
        evidence.own_valve = evidence.own_valve || (car.channels.value_or(4) == 4 &&
                                                    run.log->find(Role::at(quantity, corner)));
      evidence.swings = wheel.swings;
      evidence.locked_swings = wheel.locked_swings;
      evidence.reslips = wheel.reslips;
      evidence.swing_rate_hz = wheel.swing_rate_hz;
      evidence.peak_slip = wheel.peak_slip;
      evidence.locked_s = wheel.locked_s;
      evidence.longest_lock_s = wheel.longest_lock_s;
      evidence.lock_in_slide = stretch.turned && wheel.longest_lock_s > 0.0;
      evidence.locked_to_the_end = wheel.locked_to_the_end;
      evidence.free_s = wheel.free_s;
      evidence.sunk_s = wheel.sunk_s;
    }
    evidence.dropouts = run.wheels[corner].dropouts;
    evidence.invalid_cells = run.wheels[corner].invalid;
  }
  for (const Corner corner : all_corners) {
    CornerEvidence& evidence = judged.corners[corner];
    const CornerEvidence& partner = judged.corners[axle_partner(corner)];
    evidence.shared_lock = evidence.longest_lock_s > 0.0 && partner.longest_lock_s > 0.0 &&
                           !evidence.locked_to_the_end && !partner.locked_to_the_end;
  }

  // Rear valves at work while the fronts are quiet in plain braking: the balance function.
  const auto front_witness = [&](Corner corner) {
    const CornerEvidence& evidence = judged.corners[corner];
    return (evidence.valves_visible && evidence.slowest_step_s < 0.25) || evidence.wheel_fast;
  };
  const auto front_quiet = [&](Corner corner) {
    const CornerEvidence& evidence = judged.corners[corner];
    return releases[corner].empty() && closings[corner] == 0 && evidence.swings < 2 &&
           evidence.longest_lock_s < criteria.lock_tolerated_s;
  };
  const bool fronts_quiet = front_quiet(Corner::fl) && front_quiet(Corner::fr) &&
                            (front_witness(Corner::fl) || front_witness(Corner::fr)) &&
                            car.channels.value_or(4) != 1;

  bool any_release = false, any_command = false;
  for (const Corner corner : all_corners) {
    CornerEvidence& evidence = judged.corners[corner];
    const bool rear_rolls = !evidence.wheel_visible || evidence.peak_slip < 0.15;
    // The balance function rarely releases (trade P14): more than that is control.
    const bool few = releases[corner].size() <= 2;
    if (anti_lock && !is_front(corner) && fronts_quiet && rear_rolls && few &&
        (!releases[corner].empty() || closings[corner] > 0)) {
      evidence.balance = closings[corner] + static_cast<int>(releases[corner].size());
      evidence.balance_releases = static_cast<int>(releases[corner].size());
      judged.balance_only = true;
      evidence.holds = 0;
      evidence.stops = 1;
      evidence.catch_probability = chance_of_seeing(run, corner, stretch);
      evidence.few_catch = chance_of_seeing(run, corner, stretch, criteria.few_cycles_hz);
      continue;
    }
    if (!anti_lock) {
      const int count = static_cast<int>(releases[corner].size()) + closings[corner];
      if (stretch.episode.kind == EpisodeKind::self_test)
        evidence.self_tests = count;
      else
        evidence.movements = count;
      evidence.holds = 0;
      continue;
    }
    if (is_glitch(releases[corner], commands[corner], evidence)) {
      ++evidence.glitches;
      releases[corner].clear();
    }
    evidence.releases = static_cast<int>(releases[corner].size());
    evidence.closings = closings[corner];
    for (const Release& release : releases[corner])
      evidence.release_times.push_back(release.start_s);
    evidence.cycle_rate_hz = rate_of(evidence.release_times);
    const double step = commands[corner].outlet_step_s;
    // With gaps between the looks more may have been: the seen ones over the chance to see one, and
    // two standard deviations of such a count on top; the short end of the pulses decides.
    const double single = step > 0.0 ? std::min(1.0, criteria.pulse_short_s / step) : 1.0;
    const double seen = evidence.releases;
    evidence.releases_high =
        step <= criteria.exact_step_s
            ? evidence.releases
            : static_cast<int>(std::ceil((seen + 2.0 * std::sqrt(seen + 1.0)) / single));
    evidence.catch_probability = chance_of_seeing(run, corner, stretch);
    evidence.few_catch = chance_of_seeing(run, corner, stretch, criteria.few_cycles_hz);
    evidence.stops = 1;
    Stretch wide = stretch;
    auto answers = weigh_releases(run, corner, commands[corner], wide);
    if (evidence.glitches > 0) answers.clear();
    evidence.answers.push_back(std::move(answers));
    if (evidence.glitches == 0)
      evidence.slips = slips_around(run, corner, commands[corner], stretch);
    any_release = any_release || evidence.releases > 0;
    any_command = any_command || evidence.releases > 0 || evidence.closings > 0;
  }

  // A wheel that kept rolling free counts only while the other wheel of its side, on the same
  // ground, went on cycling.
  for (const Corner corner : all_corners) {
    const Corner beside = is_left(corner) ? (corner == Corner::fl ? Corner::rl : Corner::fl)
                                          : (corner == Corner::fr ? Corner::rr : Corner::fr);
    for (auto& stop : judged.corners[corner].answers)
      for (Answer& answer : stop) {
        if (!answer.not_rebuilt) continue;
        int cycles = 0;
        for (const auto& theirs : judged.corners[beside].answers)
          cycles +=
              static_cast<int>(std::count_if(theirs.begin(), theirs.end(), [&](const Answer& a) {
                return a.answered && a.release_s > answer.free_from_s;
              }));
        answer.not_rebuilt = cycles >= criteria.rebuild_cycles;
        answer.not_rebuilt_weight = std::min(cycles, 3);
      }
  }

  // Where no wheel came back at that time and this one did later in the same stop, the ground was
  // too slick for any answer.
  for (const Corner corner : all_corners)
    for (auto& stop : judged.corners[corner].answers)
      for (std::size_t k = 0; k < stop.size(); ++k) {
        Answer& answer = stop[k];
        const bool later = std::any_of(stop.begin() + static_cast<std::ptrdiff_t>(k), stop.end(),
                                       [](const Answer& a) { return a.beyond_doubt; });
        if (!answer.unanswered || !later) continue;
        int same = 0, better = 0;
        for (const Corner other : all_corners) {
          bool came_back = false, stayed = false;
          for (const auto& theirs : judged.corners[other].answers)
            for (const Answer& a : theirs)
              if (other != corner && std::abs(a.release_s - answer.release_s) < around_s) {
                came_back = came_back || a.answered;
                stayed = stayed || (a.testable && !a.answered && a.peak_slip >= criteria.slip_deep);
              }
          better += came_back ? 1 : 0;
          same += stayed && !came_back ? 1 : 0;
        }
        answer.slick_ground = same >= 2 && better == 0;
      }
  for (const Corner corner : all_corners)
    for (auto& stop : judged.corners[corner].answers)
      for (Answer& answer : stop)
        if (answer.slick_ground) answer.testable = answer.unanswered = false;

  // A front wheel brakes hardest: where the one beside it and the one behind it both cycle deep in
  // slip and it shows none at all, it is not braked. (A rear wheel may only copy its partner, and
  // one whose inlet works is held at a pressure that it bears.)
  for (const Corner corner : {Corner::fl, Corner::fr}) {
    const auto deep = [&](Corner other) {
      const CornerEvidence& theirs = judged.corners[other];
      return theirs.wheel_fast && !theirs.axle_mean && theirs.swings >= criteria.unbraked_swings &&
             theirs.peak_slip >= criteria.slip_deep;
    };
    CornerEvidence& own = judged.corners[corner];
    own.unbraked = anti_lock && stretch.braking && !stretch.turned && own.wheel_fast &&
                   own.peak_slip < criteria.unbraked_slip && own.releases == 0 &&
                   own.closings == 0 && own.catch_probability >= criteria.idle_catch &&
                   deep(axle_partner(corner)) &&
                   deep(corner == Corner::fl ? Corner::rl : Corner::rr);
  }

  // Was the control at work in this stretch?
  bool swinging = false, valves_fast = true, wheels_fast = true, active = false;
  for (const Corner corner : all_corners) {
    const CornerEvidence& evidence = judged.corners[corner];
    swinging = swinging || (evidence.swings >= 3 && evidence.reslips >= 2);
    if (is_front(corner))
      valves_fast = valves_fast && evidence.catch_probability >= criteria.idle_catch;
    wheels_fast = wheels_fast && evidence.wheel_fast;
  }
  if (const Channel* flag = run.channel(QuantityKind::abs_active))
    for (const OnRun& on : on_runs(flag->series, criteria.on_duty))
      active = active || (on.first_on_s < end && on.last_on_s > start &&
                          on.samples < static_cast<int>(flag->series.size()));
  if (any_release || swinging || active || (any_command && !judged.balance_only))
    judged.modulated = true;
  else if (stretch.braking && (valves_fast || wheels_fast))
    judged.modulated = false;
  else if (!stretch.braking)
    judged.modulated =
        stretch.episode.kind == EpisodeKind::self_test ? std::optional(false) : std::nullopt;
  for (const Corner corner : all_corners) {
    CornerEvidence& evidence = judged.corners[corner];
    if (anti_lock && judged.modulated.value_or(false)) evidence.modulated_stops = 1;
    for (const Corner other : all_corners) {
      const CornerEvidence& theirs = judged.corners[other];
      if (other != corner && ((theirs.swings >= 3 && theirs.reslips >= 2) || theirs.releases >= 3))
        evidence.others_cycled = true;
    }
  }
  return judged;
}

CornerEvidence pool(const std::vector<JudgedStretch>& stretches, Corner corner) {
  CornerEvidence sum;
  double miss = 1.0, few_miss = 1.0;
  bool valves_run[64] = {}, wheel_run[64] = {};
  std::vector<double> rates, swing_rates;
  for (const JudgedStretch& judged : stretches) {
    const CornerEvidence& one = judged.corners[corner];
    const std::size_t run = std::min<std::size_t>(judged.run, 63);
    sum.column_stuck = sum.column_stuck || one.column_stuck;
    sum.swapped = sum.swapped || one.swapped;
    sum.dropouts = std::max(sum.dropouts, one.dropouts);
    if (sum.invalid_cells.empty()) sum.invalid_cells = one.invalid_cells;
    sum.balance += one.balance;
    sum.balance_releases += one.balance_releases;
    sum.movements += one.movements;
    sum.self_tests += one.self_tests;
    sum.glitches += one.glitches;
    if (!judged.stretch.braking) continue;
    sum.valves_visible = sum.valves_visible || one.valves_visible;
    sum.outlet_visible = sum.outlet_visible || one.outlet_visible;
    if (one.valves_visible &&
        (sum.slowest_step_s == 0.0 || one.slowest_step_s < sum.slowest_step_s))
      sum.slowest_step_s = one.slowest_step_s;
    sum.releases += one.releases;
    sum.releases_high += one.releases_high;
    sum.closings += one.closings;
    sum.holds += one.holds;
    sum.stops += one.stops;
    sum.judged_s += one.judged_s;
    sum.modulated_stops += one.modulated_stops;
    sum.others_cycled = sum.others_cycled || one.others_cycled;
    miss *= 1.0 - one.catch_probability;
    few_miss *= 1.0 - one.few_catch;
    if (one.releases > 0 || one.closings > 0) valves_run[run] = true;
    sum.wheel_known = sum.wheel_known || one.wheel_known;
    sum.wheel_visible = sum.wheel_visible || one.wheel_visible;
    sum.wheel_fast = sum.wheel_fast || one.wheel_fast;
    sum.looks_hz = std::max(sum.looks_hz, one.looks_hz);
    sum.axle_mean = sum.axle_mean || one.axle_mean;
    sum.own_valve = sum.own_valve || one.own_valve;
    for (const auto& answers : one.answers) sum.answers.push_back(answers);
    sum.slips.insert(sum.slips.end(), one.slips.begin(), one.slips.end());
    sum.swings += one.swings;
    sum.locked_swings += one.locked_swings;
    sum.reslips += one.reslips;
    if (one.swings > 0) wheel_run[run] = true;
    if (one.swing_rate_hz > 0.0) swing_rates.push_back(one.swing_rate_hz);
    if (one.cycle_rate_hz > 0.0) rates.push_back(one.cycle_rate_hz);
    sum.peak_slip = std::max(sum.peak_slip, one.peak_slip);
    sum.locked_s += one.locked_s;
    if (one.longest_lock_s > sum.longest_lock_s) {
      sum.longest_lock_s = one.longest_lock_s;
      sum.locked_to_the_end = one.locked_to_the_end;
      sum.shared_lock = one.shared_lock;
      sum.lock_in_slide = one.lock_in_slide;
    }
    sum.free_s = std::max(sum.free_s, one.free_s);
    sum.sunk_s = std::max(sum.sunk_s, one.sunk_s);
    sum.unbraked = sum.unbraked || one.unbraked;
  }
  sum.catch_probability = 1.0 - miss;
  sum.few_catch = 1.0 - few_miss;
  if (!rates.empty()) sum.cycle_rate_hz = median(rates);
  if (!swing_rates.empty()) sum.swing_rate_hz = median(swing_rates);
  bool together = false, valves = false, wheel = false;
  for (std::size_t i = 0; i < 64; ++i) {
    together = together || (valves_run[i] && wheel_run[i]);
    valves = valves || valves_run[i];
    wheel = wheel || wheel_run[i];
  }
  sum.commands_and_wheel_from_different_logs = valves && wheel && !together;
  return sum;
}

}  // namespace stopledger
