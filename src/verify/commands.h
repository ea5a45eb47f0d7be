#pragma once

#include <optional>
#include <vector>

#include "base/corner.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// One release as commanded at a corner: outlet energised, until the inlet opens again.
struct Release {
  double start_s = 0.0;           ///< first look at which the outlet was on
  double earliest_s = 0.0;        ///< it may have begun this early (the look before)
  double end_s = 0.0;             ///< last look at which it was on
  double outlet_on_s = 0.0;       ///< summed time on, as far as sampled
  int looks = 0;                  ///< samples that were on
  std::optional<double> apply_s;  ///< first look at which the inlet was off again
  bool start_seen = true;         ///< false: it was going on when the braking or the log began
};

/// What the valve channels of one log say for one corner.
struct Commands {
  bool inlet_known = false, outlet_known = false;
  bool axle_pair = false;                          ///< one valve pair for the whole axle
  double inlet_step_s = 0.0, outlet_step_s = 0.0;  ///< median time between looks; 0 = not known
  std::vector<Release> releases;                   ///< in time order
  std::vector<OnRun> closings;                     ///< inlet on, with or without release
  std::vector<OnRun> holds;                        ///< inlet on and outlet off
  bool inlet_always_on = false;                    ///< never changes: stuck or not what it says
  bool outlet_always_on = false;
};

/// Reads the commands of one corner; a rear-axle channel serves both rear corners.
Commands read_commands(const PreparedLog& run, Corner corner);

}  // namespace stopledger
