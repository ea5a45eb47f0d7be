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

/// Chance from which on a log counts as sure to show it (the project's aim, as for `idle`).
inline constexpr double sure_enough = 0.95;

struct RecordingAim {
  double chance = sure_enough;  ///< for each corner
  int most_stops = 11;          ///< of the session, after the first low-speed one
  /// The chance counts among the cars that show anything to look at; else among all, as far as that
  /// can be had: where some cars never do it, no recorder finds it in them.
  bool of_those_that_do = false;
  /// Each look in one kind of run only: no setting of the recorder is changed for a single stop.
  bool few_settings = false;
  Role clock = Role::of_car(QuantityKind::vehicle_speed);  ///< joins a run without wheel speeds
};

struct RecordingPlan {
  std::vector<RunKind> runs;             ///< in driving order
  std::vector<double> chances;           ///< per look, with the stops planned, over all cars
  std::vector<double> aims;              ///< per look, what `chances` should reach
  std::vector<std::size_t> unreachable;  ///< looks that this recorder cannot show at any count
  int wanted_stops = 0;                  ///< that would bring every reachable look to its aim
  bool fits = false;                     ///< those are within the most stops
  bool reached = false;                  ///< it fits, and no look is out of reach

  [[nodiscard]] int stops() const;
};

/// Share of the draws that hold anything to look at. The rest are cars whose control leaves that
/// corner alone on that ground, however long one looks.
double look_ceiling(const Look& look);

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
