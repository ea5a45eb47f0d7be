#pragma once

#include <vector>

#include "base/car.h"
#include "verify/commands.h"
#include "verify/time_spans.h"

namespace stopledger {

/// When the unit itself made brake pressure within [from, to], by isolation or prime valves, else
/// by the stability or traction flag. Joined, in time order.
std::vector<TimeSpan> pressure_spans(const PreparedLog& run, double from, double to);

/// The same, and where the circuit valves are not logged, by valves at work.
std::vector<TimeSpan> active_spans(const PreparedLog& run, const PerCorner<Commands>& commands,
                                   double from, double to);

/// Whether circuit valves are logged often enough that pressure made by the unit would show.
bool circuits_watched(const PreparedLog& run);

/// The wheels that the unit braked within [from, to], front to rear, left to right.
///
/// A braked wheel's inlet is pulsed: it is seen open again between closings while the unit makes
/// pressure. One that is kept vented has its inlet shut throughout, with or without its outlet
/// (CT-50 to CT-53). A wheel pressure, where logged, decides by itself.
std::vector<Corner> braked_by_unit(const PreparedLog& run, const PerCorner<Commands>& commands,
                                   CircuitSplit split, double from, double to);

/// The longest spin of one wheel within [from, to], and how far above the car it went: faster than
/// the car by criteria.spin_share and criteria.spin_floor_mps; zeros where it did not spin.
struct WheelSpin {
  double longest_s = 0.0, highest_mps = 0.0;
};
WheelSpin wheel_spin(const PreparedLog& run, Corner corner, double from, double to);

}  // namespace stopledger
