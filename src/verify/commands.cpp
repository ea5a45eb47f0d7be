#include "verify/commands.h"

#include <algorithm>

#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

const Channel* valve_channel(const PreparedLog& run, QuantityKind quantity, Corner corner,
                             bool& axle) {
  if (const Channel* own = run.log->find(Role::at(quantity, corner))) return own;
  if (is_front(corner)) return nullptr;
  const Channel* rear = run.log->find(Role::rear(quantity));
  axle = axle || rear != nullptr;
  return rear;
}

double step_of(const Channel& channel) {
  return channel.rate_hz && *channel.rate_hz > 0.0 ? 1.0 / *channel.rate_hz : 0.0;
}

bool always_on(const Series& series, double threshold) {
  return series.size() >= 10 && std::all_of(series.value.begin(), series.value.end(),
                                            [&](double value) { return value > threshold; });
}

/// True, false or unknown: was the inlet seen off strictly between the two times?
std::optional<double> first_off(const Series& inlet, double after, double before,
                                double threshold) {
  for (std::size_t i = first_at_or_after(inlet.t_s, after); i < inlet.size(); ++i) {
    if (inlet.t_s[i] >= before) break;
    if (inlet.value[i] <= threshold) return inlet.t_s[i];
  }
  return std::nullopt;
}

}  // namespace

Commands read_commands(const PreparedLog& run, Corner corner) {
  Commands commands;
  const Channel* inlet = valve_channel(run, QuantityKind::inlet, corner, commands.axle_pair);
  const Channel* outlet = valve_channel(run, QuantityKind::outlet, corner, commands.axle_pair);
  const Channel* valve = valve_channel(run, QuantityKind::valve, corner, commands.axle_pair);
  double inlet_on = criteria.on_duty, outlet_on = criteria.on_duty;
  if (valve && !inlet && !outlet) {  // three-position: 0 apply, 1 hold, 2 release
    inlet = outlet = valve;
    inlet_on = 0.5;
    outlet_on = 1.5;
  }
  if (inlet && inlet->series.size() >= 2) {
    commands.inlet_known = true;
    commands.inlet_step_s = step_of(*inlet);
    commands.inlet_always_on = always_on(inlet->series, inlet_on);
    if (!commands.inlet_always_on) commands.closings = on_runs(inlet->series, inlet_on);
  }
  if (!outlet || outlet->series.size() < 2) {
    commands.holds = commands.closings;
    return commands;
  }
  commands.outlet_known = true;
  commands.outlet_step_s = step_of(*outlet);
  commands.outlet_always_on = always_on(outlet->series, outlet_on);
  if (commands.outlet_always_on) return commands;

  const bool inlet_usable = commands.inlet_known && !commands.inlet_always_on;
  const Series none;
  const Series& inlet_series = inlet_usable ? inlet->series : none;
  for (const OnRun& pulse : on_runs(outlet->series, outlet_on)) {
    const double on_s = std::max(pulse.last_on_s - pulse.first_on_s, 0.0) + commands.outlet_step_s;
    bool same = false;
    if (!commands.releases.empty()) {
      Release& before = commands.releases.back();
      const double gap = pulse.first_on_s - before.end_s - commands.outlet_step_s;
      // With the inlet shut all the while, chopped outlet pulses are one release; without an
      // inlet channel only a gap too short for an apply joins them.
      same = inlet_usable && !commands.closings.empty()
                 ? !first_off(inlet_series, before.end_s, pulse.first_on_s, inlet_on) &&
                       gap < criteria.release_rejoin_s &&
                       commands.inlet_step_s < criteria.merge_gap_s
                 : gap < criteria.merge_gap_s - commands.outlet_step_s;
      if (same) {
        before.end_s = pulse.last_on_s;
        before.outlet_on_s += on_s;
        before.looks += pulse.samples;
      }
    }
    if (!same)
      commands.releases.push_back({pulse.first_on_s, pulse.off_before_s, pulse.last_on_s, on_s,
                                   pulse.samples, std::nullopt});
  }
  for (std::size_t i = 0; i < commands.releases.size(); ++i) {
    Release& release = commands.releases[i];
    const double next = i + 1 < commands.releases.size() ? commands.releases[i + 1].start_s : 1e300;
    if (inlet_usable) release.apply_s = first_off(inlet_series, release.end_s, next, inlet_on);
  }
  // Holds: pieces of the closings outside the releases.
  for (const OnRun& closing : commands.closings) {
    double from = closing.first_on_s;
    for (const Release& release : commands.releases) {
      if (release.end_s < from || release.start_s > closing.last_on_s) continue;
      if (release.start_s > from) commands.holds.push_back({from, release.start_s, from, from, 1});
      from = release.end_s + commands.outlet_step_s;
    }
    if (from <= closing.last_on_s)
      commands.holds.push_back({from, closing.last_on_s, from, closing.off_after_s, 1});
  }
  return commands;
}

}  // namespace stopledger
