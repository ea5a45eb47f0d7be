#include "verify/chance.h"

#include <algorithm>

#include "signal/catch.h"
#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

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

}  // namespace

double chance_of_seeing(const PreparedLog& run, Corner corner, const Stretch& stretch,
                        double rate_hz) {
  const double from = stretch.judged_from_s;
  // Commands are counted a little beyond the judged part; what must hold for `idle` is not.
  const double to = std::max(stretch.judged_to_s, from) + (rate_hz > 0.0 ? 0.0 : criteria.around_s);
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

}  // namespace stopledger
