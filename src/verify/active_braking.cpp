#include "verify/active_braking.h"

#include <algorithm>

#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// Highest pressure of a wheel within the spans; 0 where it is not logged.
double highest_kpa(const PreparedLog& run, Corner corner, const std::vector<TimeSpan>& spans) {
  double highest = 0.0;
  if (const Channel* channel = run.log->find(Role::at(QuantityKind::wheel_pressure, corner)))
    for (const TimeSpan& span : spans)
      for (std::size_t i = first_at_or_after(channel->series.t_s, span.from_s);
           i < channel->series.size() && channel->series.t_s[i] <= span.to_s; ++i)
        highest = std::max(highest, channel->series.value[i]);
  return highest;
}

/// When the unit made pressure in the circuit of this corner; of any where that is not known.
std::vector<TimeSpan> own_spans(const PreparedLog& run, const PerCorner<Commands>& commands,
                                CircuitSplit split, Corner corner, double from, double to) {
  const auto circuit = circuit_of(split, corner);
  if (!circuit) return active_spans(run, commands, from, to);
  if (const Channel* own = run.log->find(Role::of_circuit(QuantityKind::isolation, *circuit))) {
    return spans_of(own->series, from, to);
  }
  return active_spans(run, commands, from, to);
}

/// How often the inlet was seen open between two closings of one span.
int pulses_within(const Commands& commands, const TimeSpan& span) {
  const OnRun* before = nullptr;
  int pulses = 0;
  for (const OnRun& closing : commands.closings) {
    if (closing.last_on_s < span.from_s || closing.first_on_s > span.to_s) continue;
    if (before &&
        closing.first_on_s - before->last_on_s < criteria.build_gap_s + 2.0 * commands.inlet_step_s)
      ++pulses;
    before = &closing;
  }
  return pulses;
}

}  // namespace

std::vector<TimeSpan> pressure_spans(const PreparedLog& run, double from, double to) {
  std::vector<TimeSpan> spans;
  const auto add = [&](QuantityKind quantity) {
    for (const TimeSpan& span : spans_on(run, quantity, from, to)) spans.push_back(span);
  };
  add(QuantityKind::isolation);
  add(QuantityKind::prime);
  if (spans.empty()) {
    add(QuantityKind::stability_active);
    add(QuantityKind::traction_active);
  }
  return joined_spans(std::move(spans), criteria.build_gap_s);
}

std::vector<TimeSpan> active_spans(const PreparedLog& run, const PerCorner<Commands>& commands,
                                   double from, double to) {
  std::vector<TimeSpan> spans = pressure_spans(run, from, to);
  if (!spans.empty() || circuits_watched(run)) return spans;
  for (const Corner corner : all_corners)
    for (const OnRun& closing : commands[corner].closings)
      if (closing.first_on_s <= to && closing.last_on_s >= from)
        spans.push_back({std::max(closing.first_on_s, from), std::min(closing.last_on_s, to)});
  return joined_spans(std::move(spans), criteria.build_gap_s);
}

bool circuits_watched(const PreparedLog& run) {
  return std::any_of(run.log->channels.begin(), run.log->channels.end(), [](const Channel& one) {
    return (one.role.quantity == QuantityKind::isolation ||
            one.role.quantity == QuantityKind::prime) &&
           one.rate_hz.value_or(0.0) >= criteria.brake_looks_hz;
  });
}

std::vector<Corner> braked_by_unit(const PreparedLog& run, const PerCorner<Commands>& commands,
                                   CircuitSplit split, double from, double to) {
  std::vector<Corner> braked;
  for (const Corner corner : all_corners) {
    const auto spans = own_spans(run, commands, split, corner, from, to);
    int pulses = 0;
    for (const TimeSpan& span : spans)
      pulses = std::max(pulses, pulses_within(commands[corner], span));
    if (pulses >= 1 || highest_kpa(run, corner, spans) > criteria.built_kpa)
      braked.push_back(corner);
  }
  return braked;
}

WheelSpin wheel_spin(const PreparedLog& run, Corner corner, double from, double to) {
  WheelSpin spin;
  const WheelView& wheel = run.wheels[corner];
  double begun_s = 0.0, last_s = -1e9;
  for (std::size_t i = first_at_or_after(wheel.t_s, from);
       i < wheel.t_s.size() && wheel.t_s[i] <= to; ++i) {
    const double t = wheel.t_s[i], v = run.v_at(t);
    if (!(wheel.v_mps[i] > (1.0 + criteria.spin_share) * v + criteria.spin_floor_mps)) continue;
    if (t - last_s > criteria.spin_gap_s) begun_s = t;
    last_s = t;
    spin.longest_s = std::max(spin.longest_s, t - begun_s + 1.0 / std::max(wheel.rate_hz, 1.0));
    spin.highest_mps = std::max(spin.highest_mps, wheel.v_mps[i] - v);
  }
  return spin;
}

}  // namespace stopledger
