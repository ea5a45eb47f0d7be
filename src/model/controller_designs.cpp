#include "model/scenario.h"

namespace stopledger::model {
namespace {

// Invented designs in three families (coarse, stepped, part-current) around the thresholds that
// handbooks give (CT-22 to CT-26): -a 10 to 20 m/s2, slip limit 0.13 to 0.28, loop 5 to 15 ms.
std::vector<ControllerDesign> make_designs() {
  std::vector<ControllerDesign> all;
  const auto add = [&all](ControllerDesign d) { all.push_back(std::move(d)); };
  add({.name = "stepped-10"});
  add({.name = "stepped-5",
       .loop_s = 0.005,
       .release_decel_mps2 = 13.0,
       .slip_low = 0.05,
       .slip_high = 0.19,
       .release_on_s = 0.019,
       .release_gap_s = 0.006,
       .first_step_s = 0.010,
       .step_on_s = 0.004,
       .step_off_s = 0.040});
  add({.name = "coarse-12",
       .loop_s = 0.012,
       .release_decel_mps2 = 20.0,
       .slip_high = 0.21,
       .recover_accel_mps2 = 8.0,
       .hold_max_s = 0.12,
       .rebuild = RebuildStyle::coarse,
       .end_speed_mps = 2.5,
       .rear_balance = false});
  add({.name = "partial-7",
       .loop_s = 0.007,
       .slip_high = 0.17,
       .release_on_s = 0.016,
       .release_gap_s = 0.006,
       .rebuild = RebuildStyle::partial,
       .partial_opening = 0.13,
       .balance_slip = 0.009});
  add({.name = "independent-10",
       .release_decel_mps2 = 18.0,
       .slip_high = 0.22,
       .step_on_s = 0.006,
       .step_off_s = 0.055,
       .rear_select_low = false});
  add({.name = "late-8",
       .loop_s = 0.008,
       .release_decel_mps2 = 22.0,
       .slip_low = 0.09,
       .slip_high = 0.22,
       .hold_max_s = 0.15,
       .first_step_s = 0.014,
       .step_on_s = 0.005,
       .step_off_s = 0.055,
       .clears_accumulator = true});
  // Reserved for judging.
  add({.name = "stepped-6-judge",
       .judging = true,
       .loop_s = 0.006,
       .release_decel_mps2 = 15.0,
       .slip_high = 0.20,
       .release_on_s = 0.029,
       .release_gap_s = 0.006,
       .first_step_s = 0.010,
       .step_on_s = 0.006,
       .step_off_s = 0.045});
  add({.name = "coarse-15-judge",
       .judging = true,
       .loop_s = 0.015,
       .release_decel_mps2 = 17.0,
       .slip_high = 0.22,
       .recover_accel_mps2 = 6.0,
       .hold_max_s = 0.18,
       .rebuild = RebuildStyle::coarse,
       .rear_balance = false});
  add({.name = "partial-10-judge",
       .judging = true,
       .slip_high = 0.20,
       .rebuild = RebuildStyle::partial,
       .partial_opening = 0.13,
       .end_speed_mps = 1.4});
  add({.name = "independent-8-judge",
       .judging = true,
       .loop_s = 0.008,
       .release_decel_mps2 = 14.0,
       .slip_high = 0.21,
       .step_on_s = 0.005,
       .step_off_s = 0.042,
       .rear_select_low = false,
       .clears_accumulator = true});
  return all;
}

}  // namespace

std::span<const ControllerDesign> controller_designs() {
  static const std::vector<ControllerDesign> designs = make_designs();
  return designs;
}

}  // namespace stopledger::model
