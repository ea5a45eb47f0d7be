#pragma once

#include <array>
#include <optional>
#include <span>
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
  double sunk_s = 0.0;             ///< longest time in very deep slip without coming back
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
  bool doubtful = false;      ///< the wheel locked under it and the log's judging ended so
  bool too_soon = false;      ///< slip was falling before the valve could have let it go
  double weight = 1.0;        ///< a wheel locked through a long release counts more than once
  double delay_s = 0.0;       ///< until half of the slip was gone
  double peak_slip = 0.0, peak_t_s = 0.0;
  bool rebuilt = false;             ///< renewed slip after the re-apply
  bool not_rebuilt = false;         ///< apply commanded long enough, the wheel kept rolling free
  double free_from_s = 0.0;         ///< since when it rolled free, when not_rebuilt
  double not_rebuilt_weight = 1.0;  ///< by how often the same side\'s other wheel cycled meanwhile
};

/// Weighs each release of the corner within the stretch.
std::vector<Answer> weigh_releases(const PreparedLog& run, Corner corner, const Commands& commands,
                                   const Stretch& stretch);

/// Slip around one release, for a judgement over many of them where single ones cannot be told.
struct SlipAround {
  double before = 0.0;                         ///< mean slip just around the release's start
  std::array<std::optional<double>, 3> after;  ///< mean slip in each of `answer_windows`
};

/// Slips around the releases of the corner within the stretch, as far as looked at.
std::vector<SlipAround> slips_around(const PreparedLog& run, Corner corner,
                                     const Commands& commands, const Stretch& stretch);

/// All releases of a corner together: does slip fall after them?
struct PooledAnswer {
  int releases = 0;
  double before = 0.0;  ///< mean slip at the releases
  double drop = 0.0;    ///< mean fall of slip after them
  double p = 1.0;       ///< chance of such a fall by noise alone (Student's t, three windows tried)
};

/// The window with the clearest fall; nothing with fewer than `criteria.pool_least` releases.
std::optional<PooledAnswer> pool_answers(std::span<const SlipAround> slips);

}  // namespace stopledger
