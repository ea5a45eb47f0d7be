#pragma once

#include <optional>

#include "base/quantity.h"

namespace stopledger {

/// What decides how much room one run takes. Every default is on the long side.
struct LotCase {
  double mu = 0.30;               ///< friction that the stop is sure of: the low end of the range
  double slope = 0.0;             ///< rise over run in the driving direction; downhill is negative
  double pull_away_mps2 = 1.5;    ///< common practice: an old car, gently, passengers at ease
  double reaction_s = 1.5;        ///< common practice for a driver who knows what comes
  double parking_mps2 = 1.5;      ///< least of a parking brake that works (UN R13-H, PB-01)
  double rear_load_share = 0.40;  ///< parking brake acts at the rear only (common practice)
  double car_length_m = 4.5;
  double car_width_m = 1.75;
  double turning_circle_m = 12.0;  ///< wall to wall, an ordinary car (common practice)
  double camber = 0.02;            ///< crossfall of a drained lot (common practice)
  double heading_error = 0.1;      ///< chosen: 0.1 rad (6 deg) off the line when all wheels lock
};

/// Room for one run, in driving order.
struct LotNeed {
  double run_up_m = 0.0;    ///< from standstill to the entry speed
  double reaction_m = 0.0;  ///< at the entry speed, from the mark to the brake
  double stop_m = 0.0;      ///< with the friction that is sure
  double run_off_m = 0.0;   ///< beyond it: what the parking brake needs if the pedal fails
  double stop_s = 0.0;      ///< duration of the stop
  double width_m = 0.0;     ///< for a car that slides with locked wheels and turns round
  double turning_m = 0.0;   ///< across, to turn about for the way back without reversing

  [[nodiscard]] double length_m() const { return run_up_m + reaction_m + stop_m + run_off_m; }
};

/// Deceleration of a full stop with the sure friction, slope included (m/s2); not above 0 when the
/// slope wins.
double sure_deceleration(const LotCase& lot);

/// The same for the parking brake alone: the least that works, but no more than the rear tyres
/// hold.
double parking_deceleration(const LotCase& lot);

/// Room for one run at `speed`; nothing when the slope is too steep for a stop.
///
/// Lengths v^2 / (2 a); width: the car's diagonal, because it may turn round, and on each side the
/// heading error over stop and run-off plus the drift down the crossfall during a sliding stop.
std::optional<LotNeed> lot_need(const LotCase& lot, MetresPerSecond speed);

/// Highest entry speed whose run fits a lot of that length (and width, when given); 0 when none.
MetresPerSecond entry_speed(const LotCase& lot, Metres length, std::optional<Metres> width);

/// A speed that a driver can hold: down to the next 5 km/h.
double held_kmh(double kmh);

}  // namespace stopledger
