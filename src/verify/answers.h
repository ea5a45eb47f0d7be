#pragma once

#include <optional>
#include <vector>

#include "verify/commands.h"
#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// What one wheel did during one stop.
struct WheelEvidence {
  bool visible = false;  ///< slip known often enough to see swings or lock
  bool fast = false;     ///< often enough to follow single cycles
  double looks_hz = 0.0;
  int swings = 0;   ///< deep slip followed by recovery, car still slowing
  int reslips = 0;  ///< renewed slip after a recovery
  double swing_rate_hz = 0.0;
  double peak_slip = 0.0;
  double locked_s = 0.0;  ///< time above 15 km/h with the wheel (nearly) standing
  double longest_lock_s = 0.0;
  bool locked_to_the_end = false;  ///< the longest lock was never answered by a recovery
  double deep_s = 0.0;             ///< time in deep slip
  bool shared_lock = false;        ///< both wheels of the axle locked and recovered together
  double free_s = 0.0;             ///< longest time rolling free after having slipped
};

WheelEvidence look_at_wheel(const PreparedLog& run, Corner corner, const Stretch& stretch);

/// One release weighed against what the wheel did next.
struct Answer {
  double release_s = 0.0;
  bool testable = false;  ///< the wheel was in slip and the looks suffice
  bool answered = false;
  bool beyond_doubt = false;  ///< deep slip, full recovery, far above the noise
  bool unanswered = false;    ///< stayed in slip; neither flag: cannot be told
  double weight = 1.0;        ///< a wheel locked through a long release counts more than once
  double delay_s = 0.0;       ///< until half of the slip was gone
  double peak_slip = 0.0;
  bool rebuilt = false;             ///< renewed slip after the re-apply
  bool not_rebuilt = false;         ///< apply commanded long enough, the wheel kept rolling free
  double free_from_s = 0.0;         ///< since when it rolled free, when not_rebuilt
  double not_rebuilt_weight = 1.0;  ///< by how often the same side\'s other wheel cycled meanwhile
};

/// Weighs each release of the corner within the stretch.
std::vector<Answer> weigh_releases(const PreparedLog& run, Corner corner, const Commands& commands,
                                   const Stretch& stretch);

}  // namespace stopledger
