#pragma once

#include <vector>

#include "verify/commands.h"
#include "verify/outcome.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// A stretch of one log in which the brakes or the control did something, with what judging needs.
struct Stretch {
  Episode episode;
  bool braking = false;  ///< the car was slowing (or the pedal was pressed)
  bool reaches_standstill = false;
  bool start_cut = false;         ///< the log begins inside it
  bool end_cut = false;           ///< the log ends inside it, still rolling
  bool turned = false;            ///< it may have slid sideways (turning.h)
  bool sunk = false;              ///< all wheels may have gone down together (sinking.h)
  bool by_accelerometer = false;  ///< length and MFDD do not rest on the wheels
  double hardest_decel_mps2 = 0.0;
  double judged_from_s = 0.0, judged_to_s = 0.0;  ///< where the car was fast enough to judge
};

/// Finds the episodes of one log: braking from the reference speed (or the pedal), then clusters of
/// valve, pump and control activity outside braking, then wheel spin.
std::vector<Stretch> find_episodes(const PreparedLog& run, const PerCorner<Commands>& commands,
                                   const CarFacts& car);

}  // namespace stopledger
