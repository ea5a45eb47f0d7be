#pragma once

#include <optional>

#include "base/day.h"

namespace stopledger {

struct GeoPlace {
  double latitude_deg = 0.0;   ///< north positive
  double longitude_deg = 0.0;  ///< east positive
};

/// Sunrise and sunset in minutes after midnight of the lot's clock; may lie beyond 0 to 1440 when
/// the clock is far from the sun. Both empty: the sun does not cross the horizon that day.
struct Daylight {
  std::optional<double> rise_min, set_min;
};

/// Sun's upper limb at the horizon with mean refraction, from libnova's place of the sun; within a
/// minute of the almanacs.
/// `utc_offset_min`: the lot's clock minus UTC.
Daylight sun_times(Day day, const GeoPlace& place, int utc_offset_min);

}  // namespace stopledger
