#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/car.h"
#include "base/quantity.h"
#include "plan/ground.h"

namespace stopledger {

/// Lengths (s) of the releases at one valve in one drawn stop; the pulses of one release count as
/// one, because a log counts releases.
using Pulses = std::vector<double>;

/// What one stop is expected to make the valves do, before it is driven: one entry per stop drawn
/// from what is not known of the car, the controller and the friction.
struct RunForecast {
  double stop_s = 0.0;                      ///< brake to standstill, median
  double answer_rate_hz = 0.0;              ///< of the ground: least looks a second at a wheel
  PerCorner<std::vector<Pulses>> releases;  ///< outlet on
  PerCorner<std::vector<int>> release_counts;
  /// That quantile of the number of releases at a corner in one stop.
  [[nodiscard]] double releases_in_a_stop(Corner corner, double quantile) const;
  std::string basis;  ///< where the figures come from, one sentence
};

/// Draws stops of a healthy car of those facts with the forward model.
/// Requires: a surface that the model knows (all of grounds()), entry of 10 km/h or more.
RunForecast forecast_run(const CarFacts& car, const Ground& ground, MetresPerSecond entry,
                         int draws, std::uint64_t seed);

}  // namespace stopledger
