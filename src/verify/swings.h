#pragma once

#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// What one wheel did during one stop.
struct WheelEvidence {
  bool visible = false;  ///< slip known often enough to see swings or lock
  bool fast = false;     ///< often enough to follow single cycles
  double looks_hz = 0.0;
  int swings = 0;       ///< deep slip followed by recovery, car still slowing
  int void_swings = 0;  ///< of these, in how many the wheel came to a stand above 15 km/h
  int reslips = 0;      ///< renewed slip after a recovery
  double swing_rate_hz = 0.0;
  double peak_slip = 0.0;
  double locked_s = 0.0;  ///< time above 15 km/h with the wheel (nearly) standing
  double longest_lock_s = 0.0;
  bool locked_to_the_end = false;  ///< the longest lock was never answered by a recovery
  double sunk_s = 0.0;             ///< longest time in very deep slip without coming back
  bool shared_lock = false;        ///< both wheels of the axle locked and recovered together
  double free_s = 0.0;             ///< longest time rolling free after having slipped
};

WheelEvidence look_at_wheel(const PreparedLog& run, Corner corner, const Stretch& stretch);

}  // namespace stopledger
