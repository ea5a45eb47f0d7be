#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/day.h"
#include "plan/daylight.h"
#include "plan/forecast.h"
#include "plan/ground.h"
#include "plan/heat.h"
#include "plan/lot.h"
#include "plan/recording.h"
#include "plan/route.h"
#include "procedure/procedure.h"
#include "record/record.h"
#include "schedule/gate.h"

namespace stopledger {

/// What the person says about the day, the lot and the recorder.
struct SessionRequest {
  Day today{}, day{};
  std::optional<Metres> lot_length, lot_width;
  LotCase lot;  ///< slope, pull-away and the like; `mu` is set from the surface
  Ground ground = grounds().front();
  Recorder recorder;
  std::optional<MetresPerSecond> speed;  ///< wanted entry speed; else the usual one that fits
  int most_stops = 12;                   ///< ABS stops in the session (common practice: 10 to 12)
  std::optional<int> start_min;          ///< clock time of arrival, minutes after midnight
  std::optional<GeoPlace> place;
  int utc_offset_min = 0;
  HeatCase heat;
  int draws = 80;          ///< simulated stops behind each chance
  std::uint64_t seed = 1;  ///< of those draws
  std::string permission;  ///< whose, and its date
  std::string driver, helper, address;
  /// Name of a block (override_name, or its id where that stands for one) -> the written reason.
  std::map<std::string, std::string> overrides;
};

enum class RunPurpose { warm_up, first_abs, recorded };

/// One run on the lot, in driving order.
struct Run {
  int number = 0;
  RunPurpose purpose = RunPurpose::recorded;
  double speed_kmh = 0.0;
  std::vector<Role> columns;  ///< what to record; empty: nothing
  bool new_columns = false;   ///< the recorder's setting changes before this run
  std::string shows;          ///< "releases at FL, FR"
  double rest_s = 0.0;        ///< rolling, after the run
  double front_before_c = 0.0, front_after_c = 0.0;
  double rear_before_c = 0.0, rear_after_c = 0.0;
  double start_min = 0.0;  ///< after arrival
};

/// Other work of the day around the runs.
struct Task {
  double start_min = 0.0;  ///< after arrival
  double minutes = 0.0;
  std::string text;
};

struct Timetable {
  std::vector<Task> before, after;
  double end_min = 0.0;  ///< after arrival
};

struct HeatOutlook {
  double hottest_c = 0.0;               ///< disc, over the session
  std::optional<double> fluid_boils_c;  ///< the figure compared with
  std::string fluid_basis;              ///< "wet minimum of DOT 4" or the test record
  double pump_s = 0.0;                  ///< motor on, all stops together
};

/// A way out when the recording aim is not reached.
struct Help {
  std::string change;
  int stops = 0;  ///< ABS stops it would then take
};

/// A block that the person got past, and the reason that is kept with the plan and its session.
struct Overridden {
  Block block;
  std::string reason_given;
};

/// The name that --override takes for a block: one thing, one reason. "" for what nothing
/// overrides.
std::string override_name(const Block& block);

/// The whole plan. Pure values: rendered by report/, kept by record/.
struct SessionPlan {
  std::string car;
  UnitKind unit_kind = UnitKind::unknown;
  SessionRequest request;
  std::vector<Block> blockers;  ///< empty: go, if the list of the day is all yes
  std::vector<Overridden> overridden;
  std::vector<Block> advice;       ///< soft ones
  std::vector<std::string> notes;  ///< what was assumed
  RouteChoice route;
  double fits_kmh = 0.0;   ///< highest entry speed of the lot; 0 when no length was given
  double speed_kmh = 0.0;  ///< planned
  LotNeed need;            ///< at the planned speed
  RunForecast forecast;
  std::vector<Look> looks;
  RecordingPlan recording;
  bool aims_at_amounts = true;  ///< at as many releases as the procedures ask for, else at one
  std::optional<int> stops_for_amounts;  ///< ABS stops that would take, when it does not
  std::vector<Help> helps;
  std::vector<Run> runs;
  Timetable timetable;
  Daylight light;
  HeatOutlook heat;
  std::vector<std::string> cautions;  ///< ids

  [[nodiscard]] bool go() const { return blockers.empty(); }
};

/// The looks that a session on this car owes: releases of every channel, and the wheels' answers.
///
/// `releases`: how many at each corner; 1 is proof, more is what the procedures ask for.
std::vector<Look> session_looks(const CarFacts& car, const RunForecast& forecast,
                                const PerCorner<int>& releases = {{1, 1, 1, 1}});

/// Plans one session. `records`: those of the car that stand, by day.
///
/// What forbids the session is a block in the answer, the lot and the permission included.
/// Errors: usage, for an override of something that nothing overrides.
SessionPlan plan_session(const CarSheet& car, std::span<const Record> records,
                         std::span<const Procedure> procedures, const SessionRequest& request);

}  // namespace stopledger
