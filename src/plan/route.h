#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/day.h"
#include "record/record.h"

namespace stopledger {

/// Which way leads to the exercise: what hard stops on old fluid may cost decides it.
enum class Route {
  young,      ///< fluid within its limit: exercise
  fluid_due,  ///< flush, exercise, short re-flush
  unknown     ///< unknown or long neglected: sample, flush, static tests, flush, gentle stops
};

std::string_view route_name(Route route);

/// One station of a route, in order.
struct RouteStep {
  std::string procedure;  ///< id
  int earliest_day = 0;   ///< days from the day of the session; before it is negative
  int latest_day = 0;
  bool optional = false;  ///< not needed for the exercise; offered, and `why` says when
  std::string why;
  Day from{}, to{};  ///< the same as dates, none of them past
};

struct RouteChoice {
  Route route = Route::unknown;
  std::string reason;             ///< one sentence with the record that decided
  bool first_exercise = true;     ///< the car was never exercised by the ledger
  int flushes_done = 0;           ///< of this route, when it was begun already
  bool unit_work = false;         ///< the unit was repaired or replaced, and nothing driven since
  std::optional<int> stood_days;  ///< days of the last storage, when nothing was driven after it
  std::vector<RouteStep> steps;   ///< by earliest day; what is done already is left out
  /// The day planned, or the first that leaves time for the stations before it.
  Day session_day{};

  /// Nothing is known of how this car takes a hard stop today: the slowest entry speed.
  [[nodiscard]] bool gentle() const;
  /// "first exercise of this car, after 943 days of standing"; "" for the plain case.
  [[nodiscard]] std::string circumstances() const;
};

/// Months after which fluid is due when the car has no figure of its own: the most quoted one
/// (common practice). A whole interval more makes it neglected (chosen).
inline constexpr int fluid_limit_months = 24;

/// The short re-flush after an exercise on fluid that was due ("within some weeks", common
/// practice; six chosen).
inline constexpr int reflush_within_days = 42;

/// The route from `today` to a session on `day`. `records`: of one car, those that stand, by day.
/// Only stations that the car's unit has something for.  Dated.
RouteChoice choose_route(const CarSheet& car, std::span<const Record> records, Day today, Day day);

/// Sets `session_day` and the dates of the stations. To be called again when stations were taken
/// out.
void set_dates(RouteChoice& choice, Day today, Day day);

}  // namespace stopledger
