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
};

struct RouteChoice {
  Route route = Route::unknown;
  std::string reason;             ///< one sentence with the record that decided
  bool first_exercise = true;     ///< the car was never exercised by the ledger
  std::optional<int> stood_days;  ///< days of the last storage, when nothing was driven after it
  std::vector<RouteStep> steps;   ///< by earliest day; what is done already is left out
  /// The day planned, or the first that leaves time for the stations before it.
  Day session_day{};
};

/// Months after which fluid is due when the car has no figure of its own: the most quoted one
/// (common practice). A whole interval more makes it neglected (chosen).
inline constexpr int fluid_limit_months = 24;

/// The route from `today` to a session on `day`. `records`: of one car, those that stand, by day.
/// Only stations that the car's unit has something for.
RouteChoice choose_route(const CarSheet& car, std::span<const Record> records, Day today, Day day);

}  // namespace stopledger
