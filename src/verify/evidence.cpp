#include "verify/evidence.h"

#include <algorithm>
#include <cmath>

#include "verify/across_corners.h"
#include "verify/chance.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

bool has_context(const Stretch& stretch) {
  return stretch.braking && stretch.episode.kind != EpisodeKind::stability &&
         stretch.episode.kind != EpisodeKind::traction;
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

/// A release that was going on when the stretch began (the log begins there, or its clock restarts)
/// counts as one that began with it.
PerCorner<Commands> begun_within(PerCorner<Commands> commands, double start_s) {
  for (const Corner corner : all_corners)
    for (Release& release : commands[corner].releases)
      if (release.start_s < start_s && release.end_s > start_s) {
        release.start_s = release.earliest_s = start_s;
        release.start_seen = false;
      }
  return commands;
}

double rate_of(const std::vector<double>& times) {
  if (times.size() < 2) return 0.0;
  return static_cast<double>(times.size() - 1) / std::max(times.back() - times.front(), 1e-3);
}

}  // namespace

JudgedStretch collect(const PreparedLog& run, const PerCorner<Commands>& commands_of_log,
                      const Stretch& stretch, const CarFacts& car) {
  JudgedStretch judged;
  judged.stretch = stretch;
  judged.run = run.index;
  const double start = stretch.episode.start_s - criteria.around_s,
               end = stretch.episode.end_s + criteria.around_s;
  const bool anti_lock = has_context(stretch);
  const PerCorner<Commands> commands = begun_within(commands_of_log, start);
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
      evidence.void_swings = stretch.sunk ? wheel.swings : wheel.void_swings;
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
    const bool few = static_cast<int>(releases[corner].size()) <= criteria.balance_releases;
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
    auto answers = weigh_releases(run, corner, commands[corner], stretch);
    if (evidence.glitches > 0) answers.clear();
    evidence.answers.push_back(std::move(answers));
    if (evidence.glitches == 0 && !stretch.sunk)
      evidence.slips = slips_around(run, corner, commands[corner], stretch);
    any_release = any_release || evidence.releases > 0;
    any_command = any_command || evidence.releases > 0 || evidence.closings > 0;
  }

  compare_corners(judged, anti_lock);

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

}  // namespace stopledger
