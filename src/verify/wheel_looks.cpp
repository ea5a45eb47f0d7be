#include "verify/wheel_looks.h"

#include <cmath>

#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

std::vector<SlipLook> looks_between(const PreparedLog& run, const WheelView& wheel, double from,
                                    double to) {
  std::vector<SlipLook> looks;
  for (std::size_t i = first_at_or_after(wheel.t_s, from); i < wheel.t_s.size(); ++i) {
    if (wheel.t_s[i] > to) break;
    const double v = run.v_at(wheel.t_s[i]);
    if (std::isnan(wheel.slip[i]) || std::isnan(v) || v < criteria.judge_floor_mps) continue;
    looks.push_back({wheel.t_s[i], wheel.slip[i],
                     wheel.slip_sigma(v, run.a_at(wheel.t_s[i]), run.ref_sigma_mps),
                     wheel.change_sigma(v)});
  }
  return looks;
}

}  // namespace stopledger
