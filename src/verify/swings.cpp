#include "verify/swings.h"

#include <algorithm>
#include <vector>

#include "verify/criteria.h"
#include "verify/wheel_looks.h"

namespace stopledger {

WheelEvidence look_at_wheel(const PreparedLog& run, Corner corner, const Stretch& stretch) {
  WheelEvidence evidence;
  const WheelView& wheel = run.wheels[corner];
  if (!wheel.known || !run.has_slip) return evidence;
  const std::vector<SlipLook> looks =
      looks_between(run, wheel, stretch.judged_from_s, stretch.judged_to_s);
  evidence.looks_hz = looks.size() >= 2 ? static_cast<double>(looks.size() - 1) /
                                              std::max(looks.back().t - looks.front().t, 1e-6)
                                        : 0.0;
  if (looks.size() < 4 || evidence.looks_hz < criteria.slow_wheel_hz) return evidence;
  evidence.visible = true;
  evidence.fast = evidence.looks_hz >= criteria.fast_wheel_hz;

  // Swings by hysteresis: a peak, then a fall that is far above the noise, then a renewed rise.
  double peak = 0.0, trough = 0.0, peak_t = looks.front().t, lock_from = -1.0;
  bool falling = false;  // after a peak was left
  bool slipped = false;
  double free_from = -1.0, sunk_from = -1.0;
  std::vector<double> peaks_at;
  for (std::size_t i = 0; i < looks.size(); ++i) {
    const SlipLook& look = looks[i];
    const double step = i > 0 ? look.t - looks[i - 1].t : 0.0;
    const double v = run.v_at(look.t);
    // The deepest slip that was more than one stray look.
    const double pair = i > 0 ? std::min(look.slip, looks[i - 1].slip) : 0.0;
    evidence.peak_slip = std::max(evidence.peak_slip, evidence.looks_hz > 30 ? pair : look.slip);
    if (look.slip < criteria.sunk_slip)
      sunk_from = -1.0;
    else if (sunk_from < 0.0)
      sunk_from = look.t;
    else
      evidence.sunk_s = std::max(evidence.sunk_s, look.t - sunk_from);
    if (look.slip > criteria.lock_slip && v > criteria.lock_floor_mps) {
      if (lock_from < 0.0) lock_from = look.t;
      evidence.locked_s += step;
      evidence.longest_lock_s = std::max(evidence.longest_lock_s, look.t - lock_from);
      evidence.locked_to_the_end = true;
    } else {
      lock_from = -1.0;
      if (look.slip < 0.5) evidence.locked_to_the_end = false;
    }
    const double least = std::max({evidence.fast ? criteria.min_drop : criteria.slow_drop,
                                   criteria.noise_factor * look.sigma,
                                   criteria.answer_steps * wheel.quantum_mps / std::max(v, 1.0)});
    const double enough = evidence.fast ? criteria.slip_seen + look.sigma : criteria.slow_peak;
    if (!falling) {
      if (look.slip > peak) {
        peak = look.slip;
        peak_t = look.t;
      }
      if (peak >= enough && peak - look.slip >= least &&
          look.slip <= (1.0 - criteria.answered_share_of_peak) * peak) {
        ++evidence.swings;
        if (peak >= criteria.lock_slip && run.v_at(peak_t) > criteria.lock_floor_mps)
          ++evidence.void_swings;
        peaks_at.push_back(peak_t);
        falling = true;
        trough = look.slip;
      }
    } else {
      trough = std::min(trough, look.slip);
      if (look.slip - trough >= least && look.slip >= enough) {
        ++evidence.reslips;
        falling = false;
        peak = look.slip;
        peak_t = look.t;
      }
    }
    slipped = slipped || look.slip > criteria.slip_deep;
    if (slipped && look.slip < criteria.free_slip + 1.0 * look.sigma) {
      if (free_from < 0.0) free_from = look.t;
      evidence.free_s = std::max(evidence.free_s, look.t - free_from);
    } else {
      free_from = -1.0;
    }
  }
  if (peaks_at.size() >= 2)
    evidence.swing_rate_hz = static_cast<double>(peaks_at.size() - 1) /
                             std::max(peaks_at.back() - peaks_at.front(), 1e-3);
  return evidence;
}

}  // namespace stopledger
