#include "verify/episodes.h"

#include <algorithm>
#include <cmath>

#include "base/quantity.h"
#include "signal/series.h"
#include "signal/stopping.h"
#include "verify/criteria.h"
#include "verify/turning.h"

namespace stopledger {

namespace {

struct Span {
  double start, end;
};

/// Joins spans that lie closer than `gap`.
std::vector<Span> joined(std::vector<Span> spans, double gap) {
  std::sort(spans.begin(), spans.end(),
            [](const Span& a, const Span& b) { return a.start < b.start; });
  std::vector<Span> result;
  for (const Span& span : spans) {
    if (!result.empty() && span.start - result.back().end <= gap)
      result.back().end = std::max(result.back().end, span.end);
    else
      result.push_back(span);
  }
  return result;
}

std::vector<Span> on_spans(const PreparedLog& run, const Role& role) {
  std::vector<Span> spans;
  const Channel* channel = run.log->find(role);
  if (!channel) return spans;
  for (const OnRun& on : on_runs(channel->series, criteria.on_duty))
    spans.push_back({on.first_on_s, on.last_on_s});
  return spans;
}

bool any_on(const PreparedLog& run, QuantityKind quantity, double start, double end) {
  for (const Channel& channel : run.log->channels) {
    if (channel.role.quantity != quantity) continue;
    for (const OnRun& on : on_runs(channel.series, criteria.on_duty))
      if (on.first_on_s <= end && on.last_on_s >= start && channel.series.size() > 0 &&
          on.samples < static_cast<int>(channel.series.size()))
        return true;
  }
  return false;
}

/// When the brake switch closed, if that was seen within half a second of the slowing.
std::optional<double> pedal_down(const PreparedLog& run, double slowing_s) {
  const Channel* pedal = run.channel(QuantityKind::brake_switch);
  if (!pedal) return std::nullopt;
  for (const OnRun& on : on_runs(pedal->series, criteria.on_duty)) {
    const double down_s = 0.5 * (on.off_before_s + on.first_on_s);
    if (on.first_on_s - on.off_before_s < 0.12 && std::abs(down_s - slowing_s) < 0.5) return down_s;
  }
  return std::nullopt;
}

/// Whether a valve was seen at work within [from, to].
bool controlled(const PerCorner<Commands>& commands, double from, double to) {
  for (const Corner corner : all_corners)
    for (const Release& release : commands[corner].releases)
      if (release.start_s >= from && release.start_s <= to) return true;
  return false;
}

std::vector<Stretch> braking_stretches(const PreparedLog& run,
                                       const PerCorner<Commands>& commands) {
  std::vector<Stretch> stretches;
  for (const ReferenceSpeed& part : run.reference) {
    if (part.empty()) continue;
    std::vector<Span> spans;
    const std::size_t n = part.v_mps.size();
    for (std::size_t i = 0; i < n; ++i) {
      if (!part.valid[i] || part.a_mps2[i] > -criteria.brake_decel_mps2) continue;
      std::size_t from = i, to = i;
      while (from > 0 && part.valid[from - 1] && part.a_mps2[from - 1] < -criteria.brake_end_mps2)
        --from;
      while (to + 1 < n && part.valid[to + 1] && part.a_mps2[to + 1] < -criteria.brake_end_mps2)
        ++to;
      spans.push_back({part.start_s + part.step_s * static_cast<double>(from),
                       part.start_s + part.step_s * static_cast<double>(to)});
      i = to;
    }
    for (const Span& span : joined(std::move(spans), criteria.brake_gap_s)) {
      const std::size_t from = part.index(span.start);
      std::size_t to = part.index(span.end);
      // The last creep to standstill belongs to the stop though it is gentle.
      const std::size_t latest =
          std::min(n - 1, to + static_cast<std::size_t>(criteria.creep_s / part.step_s));
      for (std::size_t i = to; i < latest && part.v_mps[i] < criteria.judge_floor_mps; ++i)
        if (part.v_mps[i + 1] < criteria.standstill_mps && part.v_mps[i] >= criteria.standstill_mps)
          to = i + 1;
      const double v0 = part.v_mps[from], v1 = part.v_mps[to];
      if (v0 - v1 < criteria.brake_min_drop_mps) continue;
      Stretch stretch;
      stretch.braking = true;
      stretch.episode.log = run.index;
      stretch.episode.start_s = span.start;
      stretch.episode.end_s = part.start_s + part.step_s * static_cast<double>(to);
      double slowest = v1;
      const std::size_t a_second =
          std::min(n - 1, to + static_cast<std::size_t>(1.0 / part.step_s));
      for (std::size_t i = to; i <= a_second; ++i) slowest = std::min(slowest, part.v_mps[i]);
      // A car that gathers speed again a second later never stood.
      const bool rolls_on = part.v_mps[a_second] > 1.15 * slowest;
      // Creeping in traffic to a halt is braking, no stop: control would not work there at all.
      stretch.reaches_standstill =
          v0 >= criteria.lock_floor_mps &&
          (slowest < criteria.standstill_mps ||
           (v1 < std::min(criteria.judge_floor_mps, 0.15 * v0) && !rolls_on));
      for (std::size_t i = from; i <= to; ++i)
        stretch.hardest_decel_mps2 = std::max(stretch.hardest_decel_mps2, -part.a_mps2[i]);
      stretch.start_cut = from <= 2 + static_cast<std::size_t>(0.15 / part.step_s) && v0 > 3.0;
      stretch.end_cut = to + 2 + static_cast<std::size_t>(0.15 / part.step_s) >= n &&
                        v1 > criteria.judge_floor_mps;
      stretch.episode.kind = stretch.reaches_standstill ? EpisodeKind::stop : EpisodeKind::braking;
      stretch.episode.v_start_kmh = v0 * 3.6;
      stretch.episode.v_end_kmh = (stretch.reaches_standstill ? slowest : v1) * 3.6;
      stretch.judged_from_s = span.start;
      stretch.judged_to_s = stretch.episode.end_s;
      for (std::size_t i = from; i <= to; ++i)
        if (part.v_mps[i] < criteria.judge_floor_mps) {
          stretch.judged_to_s = part.start_s + part.step_s * static_cast<double>(i);
          break;
        }
      if (to > from + 1) {
        std::size_t apart = 0;
        for (std::size_t i = from; i <= to; ++i) apart += part.spread[i] ? 1 : 0;
        const double stiffness =
            4 * apart > to - from || controlled(commands, span.start, stretch.episode.end_s)
                ? criteria.edge_stiffness_control
                : criteria.edge_stiffness_rolling;
        // A stop is measured from the pedal where its switch is logged, else from the slowing.
        const auto pedal = pedal_down(run, span.start);
        const std::size_t first = pedal && part.index(*pedal) + 1 < to ? part.index(*pedal) : from;
        std::vector<double> t, v;
        for (std::size_t i = first; i <= to; ++i) {
          const double slip = std::clamp(-part.a_mps2[i] / (gravity_mps2 * stiffness), 0.0, 0.1);
          t.push_back(part.start_s + part.step_s * static_cast<double>(i));
          v.push_back(part.v_mps[i] / (1.0 - slip));
        }
        const StopMeasure measure = measure_stop(t, v);
        if (!stretch.start_cut && !stretch.end_cut)
          stretch.episode.distance_m = measure.distance.value();
        if (!stretch.start_cut && measure.mfdd && measure.mfdd->value() < criteria.impossible_mps2)
          stretch.episode.mfdd_mps2 = measure.mfdd->value();
        for (std::size_t i = first; i <= to; ++i)
          stretch.episode.carried_s += part.carried[i] && part.v_mps[i] > 0.0 ? part.step_s : 0.0;
        stretch.episode.estimated = stretch.episode.carried_s > criteria.carried_s;
        // Most of it guessed is no measure.
        if (stretch.episode.carried_s >
            criteria.carried_share * (stretch.episode.end_s - stretch.episode.start_s))
          stretch.episode.distance_m = stretch.episode.mfdd_mps2 = std::nullopt;
      }
      stretches.push_back(std::move(stretch));
    }
  }
  return stretches;
}

/// Everything the control did, as clusters in time.
std::vector<Span> activity(const PreparedLog& run, const PerCorner<Commands>& commands) {
  std::vector<Span> spans;
  for (const Corner corner : all_corners) {
    for (const Release& release : commands[corner].releases)
      spans.push_back({release.start_s, release.end_s});
    for (const OnRun& closing : commands[corner].closings)
      spans.push_back({closing.first_on_s, closing.last_on_s});
  }
  for (const QuantityKind quantity : {QuantityKind::isolation, QuantityKind::prime})
    for (const Role& role :
         {Role::of_circuit(quantity, 1), Role::of_circuit(quantity, 2), Role::of_car(quantity)})
      for (const Span& span : on_spans(run, role)) spans.push_back(span);
  for (const QuantityKind quantity :
       {QuantityKind::pump, QuantityKind::abs_active, QuantityKind::stability_active,
        QuantityKind::traction_active})
    for (const Span& span : on_spans(run, Role::of_car(quantity)))
      if (span.end - span.start < 0.8 * std::max(run.log->duration_s, 1.0)) spans.push_back(span);
  return joined(std::move(spans), criteria.activity_gap_s);
}

std::vector<Span> spins(const PreparedLog& run) {
  std::vector<Span> spans;
  for (const ReferenceSpeed& part : run.reference)
    for (std::size_t i = 0; i < part.spin.size(); ++i)
      if (part.spin[i]) {
        const double t = part.start_s + part.step_s * static_cast<double>(i);
        spans.push_back({t, t + part.step_s});
      }
  spans = joined(std::move(spans), 0.3);
  // Driven wheels slip a few percent whenever they drive; spinning is more, and lasts.
  std::erase_if(spans, [&](const Span& span) {
    double excess = 0.0;
    for (const Corner corner : all_corners) {
      const WheelView& wheel = run.wheels[corner];
      for (std::size_t i = first_at_or_after(wheel.t_s, span.start);
           i < wheel.t_s.size() && wheel.t_s[i] <= span.end; ++i) {
        const double v = run.v_at(wheel.t_s[i]);
        if (wheel.v_mps[i] > (1.0 + criteria.spin_share) * v + criteria.spin_floor_mps)
          excess += 1.0 / std::max(wheel.rate_hz, 1.0);
      }
    }
    return excess < criteria.spin_time_s;
  });
  return spans;
}

void classify_activity(const PreparedLog& run, Stretch& stretch, bool spun) {
  Episode& episode = stretch.episode;
  const double start = episode.start_s, end = episode.end_s;
  const double v0 = run.v_at(start), v1 = run.v_at(end);
  if (!std::isnan(v0)) episode.v_start_kmh = v0 * 3.6;
  if (!std::isnan(v1)) episode.v_end_kmh = v1 * 3.6;
  const bool circuits = any_on(run, QuantityKind::isolation, start, end) ||
                        any_on(run, QuantityKind::prime, start, end);
  const bool pedal = any_on(run, QuantityKind::brake_switch, start, end);
  if (any_on(run, QuantityKind::traction_active, start, end) || spun) {
    episode.kind = EpisodeKind::traction;
  } else if (any_on(run, QuantityKind::stability_active, start, end)) {
    episode.kind = EpisodeKind::stability;
  } else if (end - start < criteria.self_test_max_s && !pedal &&
             !(v0 > criteria.self_test_ceiling_mps)) {
    episode.kind = EpisodeKind::self_test;
  } else if (circuits && !pedal) {
    episode.kind =
        v0 > criteria.control_floor_mps ? EpisodeKind::stability : EpisodeKind::unexplained;
  }
}

}  // namespace

std::vector<Stretch> find_episodes(const PreparedLog& run, const PerCorner<Commands>& commands) {
  std::vector<Stretch> stretches = braking_stretches(run, commands);
  // Without any speed the pedal is the only witness of braking.
  if (!run.has_speed())
    for (const Span& span :
         joined(on_spans(run, Role::of_car(QuantityKind::brake_switch)), criteria.brake_gap_s)) {
      Stretch stretch;
      stretch.braking = true;
      stretch.episode.log = run.index;
      stretch.episode.kind = EpisodeKind::braking;
      stretch.episode.start_s = stretch.judged_from_s = span.start;
      stretch.episode.end_s = stretch.judged_to_s = span.end;
      stretches.push_back(std::move(stretch));
    }
  const std::vector<Span> spun = spins(run);
  const auto overlaps_spin = [&](double start, double end) {
    return std::any_of(spun.begin(), spun.end(),
                       [&](const Span& s) { return s.start < end && s.end > start; });
  };
  for (Stretch& stretch : stretches) {
    const double start = stretch.episode.start_s, end = stretch.episode.end_s;
    const Channel* pedal = run.channel(QuantityKind::brake_switch);
    const bool unbraked = pedal && !any_on(run, QuantityKind::brake_switch, start, end);
    const bool circuits = any_on(run, QuantityKind::isolation, start, end) ||
                          any_on(run, QuantityKind::prime, start, end);
    // The circuits' valves never move in anti-lock stops: with the pedal up, or in a bend, they
    // say that the unit brakes by itself.
    double turning = 0.0;
    if (const Channel* yaw = run.channel(QuantityKind::yaw_rate))
      for (std::size_t i = first_at_or_after(yaw->series.t_s, start);
           i < yaw->series.size() && yaw->series.t_s[i] <= end; ++i)
        turning = std::max(turning, std::abs(yaw->series.value[i]));
    if (any_on(run, QuantityKind::stability_active, start, end) ||
        (circuits && (unbraked || turning > criteria.turning_rad_s)))
      stretch.episode.kind = EpisodeKind::stability;
  }
  for (Stretch& stretch : stretches)
    stretch.turned = turned(run, stretch.episode.start_s, stretch.episode.end_s);
  std::vector<Stretch> others;
  for (const Span& span : activity(run, commands)) {
    const bool in_braking = std::any_of(stretches.begin(), stretches.end(), [&](const Stretch& s) {
      return s.braking && span.start < s.episode.end_s + 0.3 && span.end > s.episode.start_s - 0.3;
    });
    if (in_braking) continue;
    Stretch stretch;
    stretch.episode.log = run.index;
    stretch.episode.start_s = stretch.judged_from_s = span.start;
    stretch.episode.end_s = stretch.judged_to_s = span.end;
    classify_activity(run, stretch, overlaps_spin(span.start, span.end));
    others.push_back(std::move(stretch));
  }
  for (const Span& span : spun) {
    const auto inside = [&](const Stretch& s) {
      return s.episode.start_s <= span.end && s.episode.end_s >= span.start;
    };
    if (std::any_of(stretches.begin(), stretches.end(), inside) ||
        std::any_of(others.begin(), others.end(), inside))
      continue;
    Stretch stretch;
    stretch.episode.log = run.index;
    stretch.episode.kind = EpisodeKind::traction;
    stretch.episode.start_s = stretch.judged_from_s = span.start;
    stretch.episode.end_s = stretch.judged_to_s = span.end;
    stretch.episode.v_start_kmh = run.v_at(span.start) * 3.6;
    stretch.episode.v_end_kmh = run.v_at(span.end) * 3.6;
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
