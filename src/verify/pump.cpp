#include "verify/pump.h"

#include <fmt/format.h>

#include <algorithm>

#include "signal/series.h"
#include "verify/commands.h"
#include "verify/criteria.h"

namespace stopledger {
namespace {

// A pump motor draws tens of amperes; ripple and steps stay below 0.1 V (chosen).
constexpr double dip_v = 0.25;
constexpr std::size_t supply_looks = 4;  // chosen: fewer during a run could all fall beside a dip
constexpr int releases_without = 4;  // chosen: one or two may end before the pump is switched on

enum class Supply { not_seen, level, dipped };

Supply supply_during(const PreparedLog& run, const OnRun& pulse, double step_s) {
  const Channel* supply = run.channel(QuantityKind::supply_voltage);
  if (supply == nullptr) return Supply::not_seen;
  std::vector<double> before, during;
  for (std::size_t i = 0; i < supply->series.size(); ++i) {
    const double t = supply->series.t_s[i];
    if (t >= pulse.first_on_s - 2.0 && t < pulse.first_on_s - 0.05)
      before.push_back(supply->series.value[i]);
    if (t >= pulse.first_on_s && t <= pulse.last_on_s + step_s)
      during.push_back(supply->series.value[i]);
  }
  if (before.size() < 2 || during.empty()) return Supply::not_seen;
  if (median(before) - quantile(during, 0.2) > dip_v) return Supply::dipped;
  return during.size() >= supply_looks ? Supply::level : Supply::not_seen;
}

// Work of the pump outside braking: control, or a run commanded by a tool.
bool is_work(EpisodeKind kind) {
  return kind == EpisodeKind::traction || kind == EpisodeKind::stability ||
         kind == EpisodeKind::unexplained;
}

}  // namespace

PumpOutcome judge_pump(const std::vector<PreparedLog>& runs,
                       const std::vector<JudgedStretch>& stretches) {
  PumpOutcome pump;
  double on = 0.0, level_s = 0.0;
  bool seen = false, worked = false, dip = false, looked = false;
  int releases_unpumped = 0, level_runs = 0;
  for (const PreparedLog& run : runs) {
    const Channel* channel = run.channel(QuantityKind::pump);
    if (!channel || channel->series.size() < 2) continue;
    seen = true;
    const double step = channel->rate_hz && *channel->rate_hz > 0.0 ? 1.0 / *channel->rate_hz : 1.0;
    const auto pulses = on_runs(channel->series, criteria.on_duty);
    for (const JudgedStretch& judged : stretches) {
      const bool braking = judged.stretch.braking;
      const Episode& episode = judged.stretch.episode;
      if (judged.run != run.index || !(braking || is_work(episode.kind))) continue;
      const double start = episode.start_s, end = episode.end_s + 0.5;
      if (braking) looked = looked || step < 0.25 * std::max(end - start, 0.0);
      double first_release = 1e300;
      for (const Corner corner : all_corners)
        for (const double t : judged.corners[corner].release_times)
          first_release = std::min(first_release, t);
      bool here = false;
      for (const OnRun& pulse : pulses) {
        if (pulse.first_on_s > end || pulse.last_on_s < start) continue;
        here = worked = true;
        const double length = pulse.last_on_s - pulse.first_on_s + step;
        on += length;
        if (first_release < 1e299 && !pump.first_on_after_release_s)
          pump.first_on_after_release_s = pulse.first_on_s - first_release;
        const Supply supply = supply_during(run, pulse, step);
        dip = dip || supply == Supply::dipped;
        // In driving the alternator may hold the voltage up.
        if (supply == Supply::level && episode.kind == EpisodeKind::unexplained && !braking) {
          ++level_runs;
          level_s += length;
        }
      }
      if (!here && braking && step < 0.3)
        for (const Corner corner : all_corners)
          releases_unpumped += static_cast<int>(judged.corners[corner].release_times.size());
    }
  }
  if (!seen) return pump;
  pump.on_s = on;
  if (worked && level_runs > 0 && !dip) {
    pump.result = Result::suspect;
    pump.reason = fmt::format(
        "The pump was commanded {} for {:.1f} s in all, and the supply voltage did not dip by "
        "{:.2f} V: either its motor drew no current (brushes, relay, fuse, wiring), or a charger "
        "or "
        "the alternator held the voltage up.",
        level_runs == 1 ? "once" : fmt::format("{} times", level_runs), level_s, dip_v);
  } else if (worked) {
    pump.result = dip ? Result::exercised : Result::commanded;
  } else if (releases_unpumped >= releases_without) {
    pump.result = Result::suspect;
    pump.reason =
        "The pump channel stayed off through the releases. Either the return pump did not run or "
        "its column is wrong.";
  } else if (looked) {
    pump.result = Result::idle;
  }
  return pump;
}

}  // namespace stopledger
