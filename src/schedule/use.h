#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schedule/history.h"
#include "signal/theil_sen.h"

namespace stopledger {

/// How much a car is driven, from its odometer readings.
struct Use {
  struct Point {
    Day day{};
    double km = 0.0;  ///< driven since the first reading, across replaced clusters
  };
  std::vector<Point> points;              ///< oldest first, never falling
  std::optional<RobustSlope> km_per_day;  ///< nothing with fewer than two days of readings
  std::vector<const Record*> left_out;    ///< readings that contradict their neighbours

  /// Driven until that day: a reading, or between two readings in proportion; nothing outside.
  [[nodiscard]] std::optional<double> km_on(Day day) const;
  /// The day on which that many km had been driven, between two readings; nothing outside.
  [[nodiscard]] std::optional<Day> day_at(double km) const;
};

/// Readings are the odometer_km of every record. A cluster-replaced record carries the old and the
/// new reading, so the distance goes on. A single reading that contradicts both neighbours is left
/// out as a slip of the pen; a lasting drop without a cluster-replaced record starts the count anew
/// from there with nothing driven in between.
///
/// The rate comes from the readings of the last three years (chosen: long enough for a car that is
/// driven only in summer, short enough to follow a change of owner), or all when these are fewer
/// than three days of readings.
Use use_of(const History& history);

/// A date that is reckoned from the use, with its spread.
struct Reckoned {
  Day day{};
  Day low{}, high{};    ///< by the upper and the lower end of the rate's 95 % interval
  bool proven = false;  ///< a reading shows that the distance has been driven; day is then past
};

/// When `km` (counted as Use::Point::km) is or was reached. Nothing without a rate, for a car that
/// does not move, or beyond 100 years.
std::optional<Reckoned> day_of_distance(const Use& use, double km);

}  // namespace stopledger
