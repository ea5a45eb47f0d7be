#pragma once

#include <span>
#include <vector>

#include "signal/reference_speed.h"
#include "signal/speed_grid.h"

namespace stopledger {

/// Where the wheels of a car stand apart, on an even grid.
struct WheelsApart {
  std::vector<char> spread;  ///< 1 where someone slips
  std::vector<char> spin;    ///< 1 where it is by spinning up
};

/// The wheels as their edges on an even grid.
///
/// Shape: all of one length, in m/s, without gaps.
struct WheelEdges {
  std::span<const double> top;  ///< the fastest wheel, raised to the car where none carries it
  std::span<const double> low;  ///< the slowest
  std::span<const double> second_low;  ///< the second slowest
  std::span<const char> braked;        ///< 1 where the car was surely braked
  double step_s = 0.0;
  double noise_mps = 0.0;    ///< one standard deviation of a sample
  double quantum_mps = 0.0;  ///< step of the values; 0 when fine
};

/// Finds where wheels stand apart by more than noise and curves explain, and whether they parted by
/// spinning up (the fastest rises away from wheels that are not braked, falls back to them or rises
/// as no car does) or by slowing down. A stretch ends where braking sets in: a wheel that spun
/// while the car pulled away says nothing of the stop that follows.
WheelsApart wheels_apart(const WheelEdges& edges, const ReferenceSettings& settings = {});

/// One standard deviation of a sample, by second differences over all wheels; robust against what
/// the wheels really do.
double line_noise(const SpeedGrid& grid);

}  // namespace stopledger
