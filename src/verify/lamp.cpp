#include "verify/lamp.h"

#include <algorithm>

#include "verify/criteria.h"

namespace stopledger {

std::optional<double> lamp_lit_driving_s(const PreparedLog& run) {
  const Channel* lamp = run.channel(QuantityKind::warning_lamp);
  if (!lamp) return std::nullopt;
  double longest = 0.0;
  for (const OnRun& lit : on_runs(lamp->series, 0.5)) {
    // The speed falls through a stop, so what counts is the first to the last fast sample.
    double from = 0.0, to = 0.0;
    int fast = 0;
    for (const double t : lamp->series.t_s) {
      if (t < lit.first_on_s || t > lit.last_on_s || !(run.v_at(t) * 3.6 > criteria.lamp_kmh))
        continue;
      if (fast++ == 0) from = t;
      to = t;
    }
    if (fast >= criteria.lamp_looks) longest = std::max(longest, to - from);
  }
  if (longest < criteria.lamp_s) return std::nullopt;
  return longest;
}

}  // namespace stopledger
