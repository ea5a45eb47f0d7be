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
  int earliest_day = 0;   ///< days after the first station
  int latest_day = 0;
  std::string why;
};

struct RouteChoice {
  Route route = Route::unknown;
  std::string reason;          ///< one sentence with the record that decided
  bool first_exercise = true;  ///< the car was never exercised by the ledger
  std::optional<int>
      stood_days;  ///< days of the last storage, when it ended after the last exercise
  std::vector<RouteStep> steps;
};

/// Months after which fluid is due when the car has no figure of its own (common practice: the most
/// quoted one), and how much later makes it neglected (chosen: one whole interval missed).
inline constexpr int fluid_limit_months = 24;

/// The route for a session on `day`. `records`: of one car, those that stand, by day.
RouteChoice choose_route(const CarSheet& car, std::span<const Record> records, Day day);

}  // namespace stopledger
