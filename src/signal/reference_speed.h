#pragma once

#include <span>
#include <vector>

#include "signal/wheel_trace.h"

namespace stopledger {

/// Settings of the reference speed estimate.
struct ReferenceSettings {
  double grid_low_s = 0.005;       ///< chosen: finer than any wheel's swing (2 to 12 Hz)
  double grid_high_s = 0.05;       ///< chosen: coarse enough for an hour of slow log
  double max_decel_mps2 = 12.0;    ///< chosen: above the best tyre on dry road (FR-06: 1.2 g)
  double max_accel_mps2 = 7.0;     ///< chosen: a road car pulling away stays below 0.7 g
  double spread_share = 0.035;     ///< wheels further apart than this share of speed: someone slips
  double spread_floor_mps = 0.35;  ///< chosen: about 1 km/h, the coarsest common step
  double spread_noise = 6.0;   ///< chosen: noise stands four wheels so far apart 1 in 10,000 times
  double still_mps = 0.3;      ///< chosen: slower than this the car stands
  double below_weight = 0.05;  ///< chosen: wheels in 10 % slip half the time bend the edge by 0.5 %
  double smooth_period_s = 0.35;  ///< rolling together: waves shorter than this are noise
  double edge_decel_mps2 = 1.2;   ///< braking harder than this may slip all wheels alike (chosen)
  double onset_period_s = 0.5;    ///< chosen: finds the onset of braking to a tenth of a second
  double bend_s = 0.40;           ///< pressure build-up of a firm pedal (ST-18: 0.36 s)
  double edge_period_s = 0.7;     ///< wheels apart: the car's deceleration changes no faster
  // Wheels that part by spinning up rise while the others do not fall; those that part by slowing
  // down fall while the upper edge goes on as the car does. What lies between them: a car that
  // rolls on a grade of 6 %, the steepest usual one, gains or loses up to 0.6 m/s2, and with its
  // rolling resistance (0.013 g) and drag of a compact car at 60 km/h (0.15 m/s2) loses up to 0.8.
  double spin_rise_mps2 = 0.6;
  double spin_rest_mps2 = 0.8;
  double swing_past_s = 0.05;    ///< chosen: half a wave of a wheel on its tyre, 10 Hz and more
  double control_pause_s = 0.6;  ///< CT-06: the slowest control acts twice a second
};

/// The vehicle's speed on an even grid, estimated offline from wheels that may all be slipping.
///
/// Shape: `v_mps`, `sigma_mps` and `decel` of equal length, point i at start_s + i * step_s.
struct ReferenceSpeed {
  double start_s = 0.0;
  double step_s = 0.05;
  std::vector<double> v_mps;
  std::vector<double> a_mps2;  ///< slope of v, negative in braking
  double sigma_mps = 0.0;      ///< one standard deviation of v where wheels roll
  std::vector<char> valid;     ///< 0 where no wheel was near in time
  std::vector<char> spread;    ///< 1 where the wheels stood apart (someone slipped)
  std::vector<char> spin;      ///< 1 where they stood apart because wheels spun up
  std::vector<char> carried;   ///< 1 where no wheel carried the car and nothing measured it

  [[nodiscard]] bool empty() const { return v_mps.empty(); }
  [[nodiscard]] double end_s() const {
    return start_s + step_s * static_cast<double>(v_mps.empty() ? 0 : v_mps.size() - 1);
  }
  /// Whether `t` lies on the grid or within a step of it. False when empty.
  [[nodiscard]] bool reaches(double t) const {
    return !v_mps.empty() && t >= start_s - step_s && t <= end_s() + step_s;
  }
  /// Grid point nearest to `t`, clamped to the ends. Requires: not empty.
  [[nodiscard]] std::size_t index(double t) const;
  /// Speed at `t` by straight line; NaN outside the grid or where not valid.
  [[nodiscard]] double at(double t) const;
  /// Slope at `t`; NaN as above.
  [[nodiscard]] double slope_at(double t) const;
};

/// Estimates the reference speed within [start, end] (one segment of a log).
///
/// Braking wheels turn slower than the car and spinning wheels faster, so the car is the upper
/// edge of the wheels while they fall apart downwards and the lower edge while they fall apart
/// upwards. Dips of all wheels together are closed over (morphological closing along the slope of
/// the stop), bounded by what a tyre can do, and the edge is smoothed with weights that ignore
/// points off it on either side, so that neither a slipping wheel nor a single spike moves it.
/// A braked car gains no speed: wheels that come up again later in the same braking were below it
/// all the time. Where every wheel locks, the car goes on without them (all_locked.h) as `witness`
/// says.
ReferenceSpeed estimate_reference_speed(std::span<const WheelTrace> wheels, double start,
                                        double end, const CarWitness& witness = {},
                                        const ReferenceSettings& settings = {});

}  // namespace stopledger
