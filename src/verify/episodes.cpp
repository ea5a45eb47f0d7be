#include "verify/episodes.h"

#include <algorithm>
#include <cmath>

#include "signal/series.h"
#include "verify/active_braking.h"
#include "verify/braking_stretches.h"
#include "verify/criteria.h"
#include "verify/sinking.h"
#include "verify/turning.h"

namespace stopledger {

namespace {

/// Takes the stop's length and MFDD back, for that reason.
void withhold(Episode& episode, StopDoubt doubt) {
  episode.distance_m.reset();
  episode.mfdd_mps2.reset();
  episode.distance_share = episode.mfdd_share = 0.0;
  episode.unmeasured = doubt;
}

std::vector<TimeSpan> on_spans(const PreparedLog& run, const Role& role) {
  std::vector<TimeSpan> spans;
  const Channel* channel = run.log->find(role);
  if (!channel) return spans;
  for (const OnRun& on : on_runs(channel->series, criteria.on_duty))
    spans.push_back({on.first_on_s, on.last_on_s});
  return spans;
}

bool any_on(const PreparedLog& run, QuantityKind quantity, double start, double end) {
  return !spans_on(run, quantity, start, end).empty();
}

/// Everything the control did, as clusters in time.
std::vector<TimeSpan> activity(const PreparedLog& run, const PerCorner<Commands>& commands) {
  std::vector<TimeSpan> spans;
  for (const Corner corner : all_corners) {
    for (const Release& release : commands[corner].releases)
      spans.push_back({release.start_s, release.end_s});
    for (const OnRun& closing : commands[corner].closings)
      spans.push_back({closing.first_on_s, closing.last_on_s});
  }
  for (const QuantityKind quantity : {QuantityKind::isolation, QuantityKind::prime})
    for (const Role& role :
         {Role::of_circuit(quantity, 1), Role::of_circuit(quantity, 2), Role::of_car(quantity)})
      for (const TimeSpan& span : on_spans(run, role)) spans.push_back(span);
  for (const QuantityKind quantity :
       {QuantityKind::pump, QuantityKind::abs_active, QuantityKind::stability_active,
        QuantityKind::traction_active})
    for (const TimeSpan& span : on_spans(run, Role::of_car(quantity)))
      if (span.to_s - span.from_s < 0.8 * std::max(run.log->duration_s, 1.0)) spans.push_back(span);
  return joined_spans(std::move(spans), criteria.activity_gap_s);
}

std::vector<TimeSpan> spins(const PreparedLog& run) {
  std::vector<TimeSpan> spans;
  for (const ReferenceSpeed& part : run.reference)
    for (std::size_t i = 0; i < part.spin.size(); ++i)
      if (part.spin[i]) {
        const double t = part.start_s + part.step_s * static_cast<double>(i);
        spans.push_back({t, t + part.step_s});
      }
  spans = joined_spans(std::move(spans), criteria.spin_gap_s);
  // Driven wheels slip a few percent whenever they drive; spinning is more, and lasts.
  std::erase_if(spans, [&](const TimeSpan& span) {
    double excess = 0.0;
    for (const Corner corner : all_corners) {
      const WheelView& wheel = run.wheels[corner];
      for (std::size_t i = first_at_or_after(wheel.t_s, span.from_s);
           i < wheel.t_s.size() && wheel.t_s[i] <= span.to_s; ++i) {
        const double v = run.v_at(wheel.t_s[i]);
        if (wheel.v_mps[i] > (1.0 + criteria.spin_share) * v + criteria.spin_floor_mps)
          excess += 1.0 / std::max(wheel.rate_hz, 1.0);
      }
    }
    return excess < criteria.spin_time_s;
  });
  return spans;
}

/// The hardest turn within [from, to] (rad/s); 0 where the yaw rate is not logged.
double hardest_turn(const PreparedLog& run, double from, double to) {
  double turning = 0.0;
  if (const Channel* yaw = run.channel(QuantityKind::yaw_rate))
    for (std::size_t i = first_at_or_after(yaw->series.t_s, from);
         i < yaw->series.size() && yaw->series.t_s[i] <= to; ++i)
      turning = std::max(turning, std::abs(yaw->series.value[i]));
  return turning;
}

double fastest_wheel(const PreparedLog& run, double from, double to) {
  double fastest = 0.0;
  for (const Corner corner : all_corners) {
    const WheelView& wheel = run.wheels[corner];
    for (std::size_t i = first_at_or_after(wheel.t_s, from);
         i < wheel.t_s.size() && wheel.t_s[i] <= to; ++i)
      fastest = std::max(fastest, wheel.v_mps[i]);
  }
  return fastest;
}

/// Whether the unit braked a wheel of an axle that did not spin: against a slide, not the spin.
bool braked_beside_spin(const PreparedLog& run, const PerCorner<Commands>& commands,
                        CircuitSplit split, double from, double to) {
  const std::vector<Corner> braked = braked_by_unit(run, commands, split, from, to);
  return std::any_of(braked.begin(), braked.end(), [&](Corner corner) {
    return wheel_spin(run, corner, from, to).longest_s == 0.0 &&
           wheel_spin(run, axle_partner(corner), from, to).longest_s == 0.0;
  });
}

/// What the unit brakes for by itself: stability does not work below 20 km/h (EC-02), nor in a car
/// that goes straight.
EpisodeKind unit_braking(const PreparedLog& run, double from, double to) {
  const bool straight =
      run.channel(QuantityKind::yaw_rate) && hardest_turn(run, from, to) < criteria.straight_rad_s;
  return run.v_at(from) > criteria.stability_floor_mps && !straight ? EpisodeKind::stability
                                                                    : EpisodeKind::traction;
}

/// The car slowed because the unit braked it: the episode is all that the unit did.
void become(EpisodeKind kind, const PreparedLog& run, const PerCorner<Commands>& commands,
            Stretch& stretch) {
  Episode& episode = stretch.episode;
  episode.kind = kind;
  for (const TimeSpan& span : activity(run, commands)) {
    if (span.from_s > episode.end_s || span.to_s < episode.start_s) continue;
    episode.start_s = std::min(episode.start_s, span.from_s);
    episode.end_s = std::max(episode.end_s, span.to_s);
  }
  const double v0 = run.v_at(episode.start_s), v1 = run.v_at(episode.end_s);
  if (!std::isnan(v0)) episode.v_start_kmh = v0 * 3.6;
  if (!std::isnan(v1)) episode.v_end_kmh = v1 * 3.6;
}

void classify_activity(const PreparedLog& run, const PerCorner<Commands>& commands,
                       const CarFacts& car, Stretch& stretch, bool spun) {
  Episode& episode = stretch.episode;
  const double start = episode.start_s, end = episode.end_s;
  const double v0 = run.v_at(start), v1 = run.v_at(end);
  if (!std::isnan(v0)) episode.v_start_kmh = v0 * 3.6;
  if (!std::isnan(v1)) episode.v_end_kmh = v1 * 3.6;
  const bool circuits = any_on(run, QuantityKind::isolation, start, end) ||
                        any_on(run, QuantityKind::prime, start, end);
  const bool pedal = any_on(run, QuantityKind::brake_switch, start, end);
  if (any_on(run, QuantityKind::stability_active, start, end) ||
      (spun && braked_beside_spin(run, commands, car.split, start, end))) {
    episode.kind = EpisodeKind::stability;
  } else if (any_on(run, QuantityKind::traction_active, start, end) || spun) {
    episode.kind = EpisodeKind::traction;
  } else if (end - start < criteria.self_test_max_s && !pedal &&
             !(v0 > criteria.self_test_ceiling_mps) &&
             !(circuits && hardest_turn(run, start, end) > criteria.turning_rad_s)) {
    episode.kind = EpisodeKind::self_test;
  } else if (circuits && !pedal && fastest_wheel(run, start, end) > criteria.control_floor_mps) {
    episode.kind = unit_braking(run, start, end);
  }
}

}  // namespace

std::vector<Stretch> find_episodes(const PreparedLog& run, const PerCorner<Commands>& commands,
                                   const CarFacts& car) {
  std::vector<Stretch> stretches = braking_stretches(run, commands);
  // Without any speed the pedal is the only witness of braking.
  if (!run.has_speed())
    for (const TimeSpan& span : joined_spans(
             on_spans(run, Role::of_car(QuantityKind::brake_switch)), criteria.brake_gap_s)) {
      Stretch stretch;
      stretch.braking = true;
      stretch.episode.log = run.index;
      stretch.episode.kind = EpisodeKind::braking;
      stretch.episode.start_s = stretch.judged_from_s = span.from_s;
      stretch.episode.end_s = stretch.judged_to_s = span.to_s;
      stretches.push_back(std::move(stretch));
    }
  const std::vector<TimeSpan> spun = spins(run);
  const auto overlaps_spin = [&](double start, double end) {
    return std::any_of(spun.begin(), spun.end(),
                       [&](const TimeSpan& s) { return s.from_s < end && s.to_s > start; });
  };
  for (Stretch& stretch : stretches) {
    const double start = stretch.episode.start_s, end = stretch.episode.end_s;
    const Channel* pedal = run.channel(QuantityKind::brake_switch);
    const bool unbraked = pedal && !any_on(run, QuantityKind::brake_switch, start, end);
    const bool circuits = any_on(run, QuantityKind::isolation, start, end) ||
                          any_on(run, QuantityKind::prime, start, end);
    // The circuits' valves never move in anti-lock stops: with the pedal up, or in a bend, they
    // say that the unit brakes by itself.
    if (any_on(run, QuantityKind::stability_active, start, end))
      become(EpisodeKind::stability, run, commands, stretch);
    else if (circuits && (unbraked || hardest_turn(run, start, end) > criteria.turning_rad_s))
      become(unbraked ? unit_braking(run, start, end) : EpisodeKind::stability, run, commands,
             stretch);
  }
  for (Stretch& stretch : stretches) {
    stretch.turned = turned(run, stretch.episode.start_s, stretch.episode.end_s);
    stretch.sunk = all_may_have_sunk(run, commands, stretch.judged_from_s, stretch.judged_to_s);
    if (stretch.sunk && !stretch.by_accelerometer) withhold(stretch.episode, StopDoubt::all_sunk);
  }
  const auto in_stretch = [&](const TimeSpan& span, double margin_s) {
    return std::any_of(stretches.begin(), stretches.end(), [&](const Stretch& s) {
      return span.from_s <= s.episode.end_s + margin_s && span.to_s >= s.episode.start_s - margin_s;
    });
  };
  // A spin and what the unit did against it are one episode.
  std::vector<TimeSpan> outside;
  for (const TimeSpan& span : activity(run, commands))
    if (!in_stretch(span, 0.3)) outside.push_back(span);
  for (TimeSpan span : spun) {
    // A wheel may still spin when the brake comes on: what was before is a spin of its own.
    for (const Stretch& s : stretches)
      if (s.episode.start_s > span.from_s + criteria.spin_time_s)
        span.to_s = std::min(span.to_s, s.episode.start_s - criteria.spin_gap_s);
    if (span.to_s > span.from_s && !in_stretch(span, 0.0)) outside.push_back(span);
  }
  std::vector<Stretch> others;
  for (const TimeSpan& span : joined_spans(std::move(outside), criteria.spin_gap_s)) {
    Stretch stretch;
    stretch.episode.log = run.index;
    stretch.episode.start_s = stretch.judged_from_s = span.from_s;
    stretch.episode.end_s = stretch.judged_to_s = span.to_s;
    classify_activity(run, commands, car, stretch, overlaps_spin(span.from_s, span.to_s));
    others.push_back(std::move(stretch));
  }
  stretches.insert(stretches.end(), std::make_move_iterator(others.begin()),
                   std::make_move_iterator(others.end()));
  std::sort(stretches.begin(), stretches.end(), [](const Stretch& a, const Stretch& b) {
    return a.episode.start_s < b.episode.start_s;
  });
  return stretches;
}

}  // namespace stopledger
