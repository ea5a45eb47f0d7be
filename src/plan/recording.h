#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "log/role.h"
#include "plan/recorder.h"
#include "signal/catch.h"

namespace stopledger {

/// One thing that the log has to show.
struct Look {
  Role role;                    ///< the column that shows it
  std::vector<Corner> corners;  ///< whose proof it is
  PulsePrior pulses;            ///< what there is to see
  int needed = 1;               ///< how many of them
  double least_rate_hz = 0.0;   ///< slower than this shows nothing; 0: any rate will do
};

/// Stops that are recorded with the same columns.
struct RunKind {
  std::vector<std::size_t> looks;  ///< indices of the looks served
  std::vector<Role> columns;       ///< what to choose in the recorder, the stop's clock included
  double interval_s = 0.0;         ///< between two looks at one column
  int stops = 0;
};

struct RecordingAim {
  double chance = 0.95;  ///< for each corner
  int most_stops = 11;   ///< of the session, after the first low-speed one
  Role clock = Role::of_car(QuantityKind::vehicle_speed);  ///< joins a run without wheel speeds
};

struct RecordingPlan {
  std::vector<RunKind> runs;             ///< in driving order
  std::vector<double> chances;           ///< per look, with the stops planned
  std::vector<std::size_t> unreachable;  ///< looks that this recorder cannot show at any count
  bool reached = false;                  ///< every look at the aim, within the most stops

  [[nodiscard]] int stops() const;
};

/// Chance that a look shows what it should, over `stops` stops of `active_s` control each.
double look_chance(const Look& look, double interval_s, double jitter, double active_s, int stops);

/// The recording with the fewest stops: looks are grouped into kinds of runs, each kind with one
/// set of columns, and driven until each of its looks reaches the aim. All groupings are searched.
///
/// A grouping in which a column is chosen in one kind only need not be the very best: columns that
/// change from stop to stop can save at most one stop on the cases of
/// tests/plan/recording_test.cpp, and cost a changed setting before every run. When the aim cannot
/// be reached within the most stops, the plan is the one that needs the fewest, cut down to the
/// most stops kind by kind, and `reached` is false.
///
/// Shape: at most 12 looks (3^n groupings are searched).  Does not throw.
RecordingPlan plan_recording(std::span<const Look> looks, const Recorder& recorder, double active_s,
                             const RecordingAim& aim);

}  // namespace stopledger
