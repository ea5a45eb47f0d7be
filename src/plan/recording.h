#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "log/role.h"
#include "plan/forecast.h"
#include "plan/recorder.h"

namespace stopledger {

/// One thing that the log has to show.
struct Look {
  Role role;                    ///< the column that shows it
  std::vector<Corner> corners;  ///< whose proof it is
  std::vector<Pulses> draws;    ///< what there is to see in one stop, as it may turn out
  int needed = 1;               ///< how many of them
  double least_rate_hz = 0.0;   ///< slower than this shows nothing; 0: any rate will do
  int least_stops = 1;          ///< fewer show nothing, however they turn out
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

/// Chance that a look shows what it should over `stops` stops with `columns` columns chosen.
///
/// The stops of one session are of one car on one ground: they share a draw, and the chance is the
/// mean over the draws. What is not known of the car never averages out over more stops.
double look_chance(const Look& look, const Recorder& recorder, int columns, int stops);

/// The recording with the fewest stops that brings every look to the aim.
///
/// Looks are first grouped into kinds of runs, each with one set of columns (all groupings are
/// searched) and two stops exchanged for one of any set as long as that holds the aim; a start stop
/// by stop with sets that share looks is taken when it saves stops. A
/// single stop saved is not worth a further set of columns. Within one stop of brute force
/// on the cases of tests/plan/recording_test.cpp. When the aim cannot be reached within the most
/// stops, stops are cut where they are missed least, and `reached` is false.
///
/// Shape: at most 12 looks (3^n groupings are searched).  Does not throw.
RecordingPlan plan_recording(std::span<const Look> looks, const Recorder& recorder,
                             const RecordingAim& aim);

}  // namespace stopledger
