#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/car.h"
#include "base/corner.h"

namespace stopledger {

/// What a procedure asks of one corner's log.
struct CornerExpectation {
  bool asked = false;          ///< the result of this corner decides the exit status
  int min_releases = 1;        ///< answered releases over the session for `enough`
  bool may_stay_idle = false;  ///< idle is allowed and no reason for exit status 1
  bool operator==(const CornerExpectation&) const = default;
};

/// Expected valve movement, machine-readable; what `check --procedure` judges against.
struct Expectation {
  PerCorner<CornerExpectation> corners;
  bool needs_wheel_answer = true;  ///< `commanded` is not enough
  bool pump_asked = false;
  bool circuits_asked = false;  ///< isolation and prime valves
  std::optional<double> cycle_rate_low_hz, cycle_rate_high_hz;
  std::optional<double> entry_speed_low_kmh, entry_speed_high_kmh;
  bool operator==(const Expectation&) const = default;
};

/// When a procedure falls due (common practice; the car's manual figure beats it).
struct Interval {
  std::optional<int> months;
  std::optional<double> distance_km;
  int early_months = 0;                    ///< tolerance before
  int late_months = 0;                     ///< tolerance after
  std::vector<int> season_months;          ///< 1 to 12; empty: any time of the year
  bool keeps_season = false;               ///< done early or late does not move next year's window
  std::optional<int> after_storage_weeks;  ///< also due after standing longer than this
  std::vector<std::string> after_records;  ///< record kinds that make it due ("repair", ...)
  std::string basis;                       ///< "common practice", or the source
  bool operator==(const Interval&) const = default;
};

/// How two tasks depend on each other.
struct Prerequisite {
  std::string procedure;           ///< id
  bool hard = true;                ///< hard blocks, soft advises
  std::optional<int> within_days;  ///< how fresh it must be; 0 = same day
  bool first_ever_only = false;    ///< only before the first exercise of a car
  std::string reason;
  bool operator==(const Prerequisite&) const = default;
};

struct Step {
  std::string text;
  std::string record;  ///< what to write down with its unit; may be empty
  bool operator==(const Step&) const = default;
};

/// What moves in a healthy car of one layout, in words.
struct Movement {
  std::string layout;  ///< "4 channels", "3 channels", "select-low rear", ...
  std::string text;
  bool operator==(const Movement&) const = default;
};

/// One file in procedures/: see procedures/FORMAT.md.
struct Procedure {
  std::string id;  ///< "stop-fronts"
  std::string name;
  std::string purpose;
  std::string record_kind;  ///< the kind of record that doing it leaves; "" when fills_sheet
  std::vector<UnitKind> unit_kinds;   ///< empty: safe for every kind, unknown included
  bool opens_system = false;          ///< needs depressurising first on a high-pressure store
  bool needs_circuit_valves = false;  ///< only for units with isolation and prime valves
  bool fills_sheet = false;           ///< done when the car's sheet holds what decides safety
  bool rests_in_storage = false;      ///< its rule sleeps while the car is stored
  bool is_session = false;            ///< driven on the lot; gates and after-run check apply
  int people = 1;
  std::vector<std::string> tools;
  std::vector<Prerequisite> prerequisites;
  std::vector<Step> steps;
  std::vector<std::string> log_channels;  ///< role patterns: "outlet.FL", "wheel_speed.*"
  std::optional<double> speed_low_kmh, speed_high_kmh;
  std::vector<std::string> surfaces;
  std::vector<std::string> stop_conditions;
  std::vector<std::string> cautions;     ///< "C1" to "C22"
  std::vector<Movement> movement;        ///< expected valve movement in words, by layout
  std::vector<std::string> needs_sheet;  ///< facts the car's sheet must hold before it may start
  std::optional<Interval> interval;
  std::optional<Expectation> expectation;
  std::vector<std::string> sources;
  std::string file;                ///< where it came from, for messages
  bool overrides_library = false;  ///< a person's own file replaced the library's
  bool operator==(const Procedure&) const = default;
};

}  // namespace stopledger
