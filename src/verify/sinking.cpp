#include "verify/sinking.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "verify/criteria.h"

namespace stopledger {

namespace {

/// The first release of any corner; infinity where fewer than two corners were released three
/// times.
double control_begins(const PerCorner<Commands>& commands, double from, double to) {
  double first = std::numeric_limits<double>::infinity();
  int corners = 0;
  for (const Corner corner : all_corners) {
    int releases = 0;
    for (const Release& release : commands[corner].releases)
      if (release.start_s >= from && release.start_s <= to) {
        first = std::min(first, release.start_s);
        ++releases;
      }
    corners += releases >= criteria.sinking_releases ? 1 : 0;
  }
  return corners >= 2 ? first : std::numeric_limits<double>::infinity();
}

}  // namespace

bool all_may_have_sunk(const PreparedLog& run, const PerCorner<Commands>& commands, double from_s,
                       double to_s) {
  double looks_hz = 0.0;
  for (const Corner corner : all_corners) looks_hz = std::max(looks_hz, run.wheels[corner].rate_hz);
  const double control = control_begins(commands, from_s, to_s) + criteria.around_s;
  if (looks_hz >= criteria.plenty_hz || to_s - control < criteria.sinking_least_s) return false;

  double lowest = std::numeric_limits<double>::infinity();
  for (double t = from_s; t <= to_s; t += 0.01) {
    const double v = run.v_at(t);
    if (std::isnan(v)) continue;
    lowest = std::min(lowest, v);
    if (v - lowest >= criteria.sinking_rise_mps) return true;
  }
  const double half = 0.5 * (to_s - control), end = 0.5;
  const double before = (run.v_at(control) - run.v_at(control + half)) / half;
  const double after = (run.v_at(to_s - end) - run.v_at(to_s)) / end;
  return after > criteria.sinking_steeper * std::max(before, criteria.brake_decel_mps2);
}

}  // namespace stopledger
