#pragma once

#include <optional>
#include <span>

#include "base/quantity.h"

namespace stopledger {

/// Mean fully developed deceleration from three points of a stop.
///
/// dm = (vb^2 - ve^2) / (25.92 (se - sb)) with vb = 0.8 v0 and ve = 0.1 v0.
///
/// Unit:   v in km/h, distances from v0 in m; result m/s2.
/// Source: UN R13 Annex 4 and 71/320/EEC Annex II 1.1.2 (ST-01, ST-02 in tests/SOURCES.md).
MetresPerSecond2 mean_fully_developed_deceleration(double vb_kmh, double ve_kmh, Metres sb,
                                                   Metres se);

/// Length and deceleration of one stop read from a speed trace.
struct StopMeasure {
  Metres distance;                       ///< from the first to the last sample given
  std::optional<MetresPerSecond2> mfdd;  ///< nothing when 0.1 v0 was not reached
};

/// Measures a stop from its speed.
///
/// Shape:    `t_s` rising, `v_mps` same length, the first sample is v0.
/// Requires: at least two samples.
StopMeasure measure_stop(std::span<const double> t_s, std::span<const double> v_mps);

/// Adhesion used: k or z from the time between two speeds under braking, z = (dv/3.6) / g / t.
/// UN R13-H Annex 6 appendix 2 writes it 0.566 / t for 40 to 20 km/h and 0.849 / t for 45 to 15.
double braking_rate_from_time(double dv_kmh, Seconds t);

}  // namespace stopledger
