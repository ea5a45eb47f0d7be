#pragma once

#include <vector>

#include "verify/commands.h"
#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// One release weighed against what the wheel did next.
struct Answer {
  double release_s = 0.0;
  bool testable = false;  ///< the wheel was in slip and the looks suffice
  bool answered = false;
  bool beyond_doubt = false;  ///< deep slip, full recovery, far above the noise
  bool prompt = false;        ///< answered, and slip turned just when the valve opened
  bool unanswered = false;    ///< stayed in slip; neither flag: cannot be told
  bool sunk = false;          ///< answered, but by a speed that may have sunk with all wheels
  bool doubtful = false;      ///< the wheel locked under it and the log's judging ended so
  bool too_soon = false;      ///< slip was falling before the valve could have let it go
  bool slick_ground = false;  ///< no wheel came back then, and this one did later in the stop
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

}  // namespace stopledger
