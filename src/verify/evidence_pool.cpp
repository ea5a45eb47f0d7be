#include <algorithm>

#include "signal/series.h"
#include "verify/evidence.h"

namespace stopledger {

CornerEvidence pool(const std::vector<JudgedStretch>& stretches, Corner corner) {
  CornerEvidence sum;
  double miss = 1.0, few_miss = 1.0;
  bool valves_run[64] = {}, wheel_run[64] = {};
  std::vector<double> rates, swing_rates;
  for (const JudgedStretch& judged : stretches) {
    const CornerEvidence& one = judged.corners[corner];
    const std::size_t run = std::min<std::size_t>(judged.run, 63);
    sum.column_stuck = sum.column_stuck || one.column_stuck;
    sum.swapped = sum.swapped || one.swapped;
    sum.dropouts = std::max(sum.dropouts, one.dropouts);
    if (sum.invalid_cells.empty()) sum.invalid_cells = one.invalid_cells;
    sum.balance += one.balance;
    sum.balance_releases += one.balance_releases;
    sum.movements += one.movements;
    sum.self_tests += one.self_tests;
    sum.glitches += one.glitches;
    if (!judged.stretch.braking) continue;
    sum.valves_visible = sum.valves_visible || one.valves_visible;
    sum.outlet_visible = sum.outlet_visible || one.outlet_visible;
    if (one.valves_visible &&
        (sum.slowest_step_s == 0.0 || one.slowest_step_s < sum.slowest_step_s))
      sum.slowest_step_s = one.slowest_step_s;
    sum.releases += one.releases;
    sum.releases_high += one.releases_high;
    sum.closings += one.closings;
    sum.holds += one.holds;
    sum.stops += one.stops;
    sum.judged_s += one.judged_s;
    sum.modulated_stops += one.modulated_stops;
    sum.unwatched_control =
        sum.unwatched_control || (judged.modulated.value_or(true) && !one.valves_visible);
    sum.others_cycled = sum.others_cycled || one.others_cycled;
    miss *= 1.0 - one.catch_probability;
    few_miss *= 1.0 - one.few_catch;
    if (one.releases > 0 || one.closings > 0) valves_run[run] = true;
    sum.wheel_known = sum.wheel_known || one.wheel_known;
    sum.wheel_visible = sum.wheel_visible || one.wheel_visible;
    sum.wheel_fast = sum.wheel_fast || one.wheel_fast;
    sum.looks_hz = std::max(sum.looks_hz, one.looks_hz);
    sum.axle_mean = sum.axle_mean || one.axle_mean;
    sum.own_valve = sum.own_valve || one.own_valve;
    for (const auto& answers : one.answers) sum.answers.push_back(answers);
    sum.slips.insert(sum.slips.end(), one.slips.begin(), one.slips.end());
    sum.swings += one.swings;
    sum.void_swings += one.void_swings;
    sum.reslips += one.reslips;
    if (one.swings > 0) wheel_run[run] = true;
    if (one.swing_rate_hz > 0.0) swing_rates.push_back(one.swing_rate_hz);
    if (one.cycle_rate_hz > 0.0) rates.push_back(one.cycle_rate_hz);
    sum.peak_slip = std::max(sum.peak_slip, one.peak_slip);
    sum.locked_s += one.locked_s;
    if (one.longest_lock_s > sum.longest_lock_s) {
      sum.longest_lock_s = one.longest_lock_s;
      sum.locked_to_the_end = one.locked_to_the_end;
      sum.shared_lock = one.shared_lock;
      sum.lock_in_slide = one.lock_in_slide;
    }
    sum.free_s = std::max(sum.free_s, one.free_s);
    sum.sunk_s = std::max(sum.sunk_s, one.sunk_s);
    sum.unbraked = sum.unbraked || one.unbraked;
  }
  sum.catch_probability = 1.0 - miss;
  sum.few_catch = 1.0 - few_miss;
  if (!rates.empty()) sum.cycle_rate_hz = median(rates);
  if (!swing_rates.empty()) sum.swing_rate_hz = median(swing_rates);
  bool together = false, valves = false, wheel = false;
  for (std::size_t i = 0; i < 64; ++i) {
    together = together || (valves_run[i] && wheel_run[i]);
    valves = valves || valves_run[i];
    wheel = wheel || wheel_run[i];
  }
  sum.commands_and_wheel_from_different_logs = valves && wheel && !together;
  return sum;
}

}  // namespace stopledger
