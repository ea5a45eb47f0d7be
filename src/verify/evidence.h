#pragma once

#include <optional>
#include <vector>

#include "verify/answers.h"
#include "verify/commands.h"
#include "verify/episodes.h"
#include "verify/pooled.h"
#include "verify/prepared_log.h"
#include "verify/swings.h"

namespace stopledger {

/// Everything the logs show about one corner, in one stretch or summed over all of them.
struct CornerEvidence {
  // Commands
  bool valves_visible = false;  ///< a usable valve channel in at least one braking stretch
  bool outlet_visible = false;
  bool column_stuck = false;  ///< a valve channel that never changes though it must
  int releases = 0;           ///< anti-lock releases seen
  int releases_high = 0;      ///< could have been, with the gaps between looks
  int closings = 0;           ///< inlet shut, with or without release
  int holds = 0;
  int balance = 0;           ///< rear balance (EBD) activity, not counted above
  int balance_releases = 0;  ///< of these, outlet openings
  int movements = 0;         ///< moved by stability, traction or a tool: not anti-lock
  int self_tests = 0;
  int elsewhere = 0;                  ///< releases outside everything that was judged
  int glitches = 0;                   ///< lone samples not taken as events
  double catch_probability = 0.0;     ///< of at least one command, had the corner cycled
  double few_catch = 0.0;             ///< the same had it cycled once a second only: for `idle`
  double judged_s = 0.0;              ///< how long the car was fast enough for control, braked
  double slowest_step_s = 0.0;        ///< the best channel's time between looks
  std::vector<double> release_times;  ///< for the cycle rate, one stop's times only in a stretch
  double cycle_rate_hz = 0.0;
  // The wheel
  bool wheel_known = false;  ///< its speed is logged and a witness
  bool wheel_visible = false, wheel_fast = false, axle_mean = false;
  bool own_valve = false;  ///< a valve for this corner alone, in the log and by the sheet
  double looks_hz = 0.0;   ///< at the wheel, of the best stop
  std::vector<std::vector<Answer>> answers;  ///< per stop, in order
  std::vector<SlipAround> slips;             ///< around each release, all stops
  int swings = 0, reslips = 0;
  int void_swings = 0;  ///< of the swings, those of a wheel that stood, or all where the car's
                        ///< speed may have sunk with the wheels
  double swing_rate_hz = 0.0, peak_slip = 0.0, locked_s = 0.0, longest_lock_s = 0.0, sunk_s = 0.0,
         free_s = 0.0;
  bool locked_to_the_end = false, shared_lock = false;
  bool lock_in_slide = false;  ///< the longest lock was in a stop whose car turned hard
  bool unbraked = false;  ///< a front wheel that never slipped while the wheels beside and behind
                          ///< it cycled deep in slip
  std::string invalid_cells;  ///< of the wheel speed, while the car moved; "" when there are none
  std::string speed_hint;     ///< why a stop may have gone unseen, or ""
  int dropouts = 0;
  // The session
  int stops = 0;                   ///< braking stretches looked at
  int modulated_stops = 0;         ///< of these, with the control at work anywhere
  bool unwatched_control = false;  ///< in a stop the control was or may have been at work,
                                   ///< and no valve of this corner was in that log
  bool others_cycled = false;      ///< another corner cycled in the same stop
  double fading_support = 0.0;  ///< log odds by which the other corners speak for answers that die
                                ///< out (the pump serves them all)
  int fading_elsewhere = 0;     ///< other corners whose answers clearly died out
  bool all_unanswered = false;  ///< no wheel of the car answered better: the ground, or the speed
  bool swapped = false;         ///< valves and wheel do not belong together
  bool commands_and_wheel_from_different_logs = false;
};

/// One stretch with the evidence of its four corners.
struct JudgedStretch {
  Stretch stretch;
  std::size_t run = 0;
  PerCorner<CornerEvidence> corners;
  std::optional<bool> modulated;
  bool balance_only = false;
};

/// Collects the evidence of one stretch.
JudgedStretch collect(const PreparedLog& run, const PerCorner<Commands>& commands,
                      const Stretch& stretch, const CarFacts& car);

/// Sums the evidence of one corner over all stretches of the session.
CornerEvidence pool(const std::vector<JudgedStretch>& stretches, Corner corner);

}  // namespace stopledger
