#include "signal/stopping.h"

#include <cassert>
#include <vector>

namespace stopledger {

MetresPerSecond2 mean_fully_developed_deceleration(double vb_kmh, double ve_kmh, Metres sb,
                                                   Metres se) {
  return MetresPerSecond2((vb_kmh * vb_kmh - ve_kmh * ve_kmh) / (25.92 * (se - sb).value()));
}

StopMeasure measure_stop(std::span<const double> t_s, std::span<const double> v_mps) {
  assert(t_s.size() >= 2 && t_s.size() == v_mps.size());
  StopMeasure result;
  const double v0 = v_mps.front(), vb = 0.8 * v0, ve = 0.1 * v0;
  std::optional<double> sb, se;
  double s = 0.0;
  for (std::size_t i = 1; i < t_s.size(); ++i) {
    const double dt = t_s[i] - t_s[i - 1], from = v_mps[i - 1], to = v_mps[i];
    // Where within this step is `v` crossed, and how far had the car gone by then?
    const auto crossing = [&](double v) {
      const double share = from == to ? 0.0 : (from - v) / (from - to);
      return s + share * dt * (from + v) / 2.0;
    };
    if (!sb && to <= vb && from >= vb) sb = crossing(vb);
    if (!se && to <= ve && from >= ve) se = crossing(ve);
    s += dt * (from + to) / 2.0;
  }
  result.distance = Metres(s);
  if (sb && se && *se > *sb)
    result.mfdd = mean_fully_developed_deceleration(vb * 3.6, ve * 3.6, Metres(*sb), Metres(*se));
  return result;
}

double braking_rate_from_time(double dv_kmh, Seconds t) {
  return dv_kmh / 3.6 / gravity_mps2 / t.count();
}

}  // namespace stopledger
