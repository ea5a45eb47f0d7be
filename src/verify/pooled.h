#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "verify/commands.h"
#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// Slip around one release, for a judgement over many of them where single ones cannot be told.
struct SlipAround {
  double before = 0.0;                         ///< mean slip just around the release's start
  std::array<std::optional<double>, 4> after;  ///< mean slip in each of `answer_windows`
};

/// Slips around the releases of the corner within the stretch, as far as looked at.
std::vector<SlipAround> slips_around(const PreparedLog& run, Corner corner,
                                     const Commands& commands, const Stretch& stretch);

/// All releases of a corner together: does slip fall after them?
struct PooledAnswer {
  int releases = 0;
  double before = 0.0;  ///< mean slip at the releases
  double drop = 0.0;    ///< mean fall of slip after them
  double p = 1.0;       ///< chance of such a fall by noise alone (Student's t, four windows tried)
};

/// The window with the clearest fall; nothing with fewer than `criteria.pool_least` releases.
std::optional<PooledAnswer> pool_answers(std::span<const SlipAround> slips);

}  // namespace stopledger
