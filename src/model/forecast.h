#pragma once

#include <cstdint>
#include <vector>

#include "base/car.h"
#include "base/corner.h"
#include "model/tyre.h"

namespace stopledger::model {

/// One drawn full-pedal stop of a healthy car.
struct StopDraw {
  double duration_s = 0.0;  ///< pedal to standstill
  double distance_m = 0.0;
  PerCorner<int> releases;                      ///< anti-lock releases (see Release)
  PerCorner<std::vector<double>> release_on_s;  ///< outlet on in each of those, its pulses together
  PerCorner<std::vector<double>> outlet_on_s;   ///< length of every single outlet pulse
  PerCorner<std::vector<double>> inlet_on_s;    ///< length of every stretch with the inlet on
  PerCorner<double> control_s;                  ///< from a corner's first valve command to its last
};

/// What stops of that car on that surface can be like: the spread is over what is not known of
/// the car, the controller and the friction.
struct StopForecast {
  std::vector<StopDraw> draws;

  [[nodiscard]] double duration_s(double quantile) const;
  [[nodiscard]] double distance_m(double quantile) const;
  [[nodiscard]] double releases(Corner corner, double quantile) const;
  /// Releases per second of control at that corner.
  [[nodiscard]] double cycle_rate_hz(Corner corner, double quantile) const;
  /// Chance that a channel looked at every `interval_s`, with a phase of its own in each stop,
  /// shows the outlet of that corner open at least once in `stops` stops: the mean over the drawn
  /// cars, so that what is unknown about the car does not average out over the stops.
  [[nodiscard]] double catch_chance(Corner corner, double interval_s, int stops) const;
  /// Over all pulses of all draws; 0 when there are none.
  [[nodiscard]] double pulse_s(Corner corner, double quantile) const;
};

/// Draws `n_draws` stops from `speed_kmh`. Facts that are unknown are drawn too. About 3 ms each.
///
/// Requires: speed_kmh >= 10, n_draws >= 1. Same arguments, same answer.
StopForecast forecast_stop(const CarFacts& facts, Surface surface, double speed_kmh, int n_draws,
                           std::uint64_t seed);

}  // namespace stopledger::model
