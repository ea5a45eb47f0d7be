#include "verify/braking_stretches.h"

#include <algorithm>
#include <cmath>

#include "verify/criteria.h"
#include "verify/stop_measure.h"
#include "verify/time_spans.h"

namespace stopledger {

namespace {

/// Whether a valve was seen at work within [from, to].
bool controlled(const PerCorner<Commands>& commands, double from, double to) {
  for (const Corner corner : all_corners)
    for (const Release& release : commands[corner].releases)
      if (release.start_s >= from && release.start_s <= to) return true;
  return false;
}

}  // namespace

std::vector<Stretch> braking_stretches(const PreparedLog& run,
                                       const PerCorner<Commands>& commands) {
  std::vector<Stretch> stretches;
  for (const ReferenceSpeed& part : run.reference) {
    if (part.empty()) continue;
    std::vector<TimeSpan> spans;
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
    for (const TimeSpan& span : joined_spans(std::move(spans), criteria.brake_gap_s)) {
      const std::size_t from = part.index(span.from_s);
      std::size_t to = part.index(span.to_s);
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
      stretch.episode.start_s = span.from_s;
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
      stretch.judged_from_s = span.from_s;
      stretch.judged_to_s = stretch.episode.end_s;
      for (std::size_t i = from; i <= to; ++i)
        if (part.v_mps[i] < criteria.judge_floor_mps) {
          stretch.judged_to_s = part.start_s + part.step_s * static_cast<double>(i);
          break;
        }
      if (to > from + 1)
        measure_braking(run, part, from, to,
                        controlled(commands, span.from_s, stretch.episode.end_s), stretch);
      stretches.push_back(std::move(stretch));
    }
  }
  return stretches;
}

}  // namespace stopledger
