#pragma once

#include <string>
#include <string_view>

#include "base/corner.h"
#include "base/quantity.h"
#include "signal/catch.h"

namespace stopledger {

/// What one stop is expected to make the valves do, before it is driven.
struct StopForecast {
  double stop_s = 0.0;    ///< brake to standstill
  double active_s = 0.0;  ///< of it, with the control at work
  PerCorner<PulsePrior> releases;
  PerCorner<PulsePrior> holds;  ///< inlet closed, release included: longer, so easier to see
  std::string basis;            ///< where the figures come from, one sentence
};

/// Speed at which anti-lock control fades out (CT-30: 5 to 10 km/h; the earlier end).
inline constexpr double control_fades_kmh = 10.0;

/// Published pulse lengths and cycle rates of a surface: rough, so their doubts are wide.
/// Requires: a name of grounds() with an entry speed above control_fades_kmh.
StopForecast published_forecast(std::string_view surface, MetresPerSecond entry);

}  // namespace stopledger
