#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace stopledger {

/// Settings of the search for stretches in which no wheel carries the car's speed.
struct AllLockedSettings {
  double impossible_mps2 = 13.0;   ///< no car slows so: above the best tyre (FR-06: 1.2 g)
  double fade_mps = 3.0;           ///< chosen: sensors fade out below 10 km/h at the latest
  double least_drop_mps = 1.2;     ///< chosen: so much above that, a lock from 15 km/h (AB-21)
  double close_s = 0.04;           ///< chosen: a stop on the best road loses 0.5 m/s in that time
  double signal_mps2 = 350.0;      ///< full grip cannot stop a bare wheel faster (r2 mu N / J)
  double still_mps = 0.5;          ///< chosen: a wheel slower than this stands
  double still_s = 0.2;            ///< chosen: shorter is one swing of the control
  double witness_s = 0.25;         ///< chosen: control that sets in anew this long after all wheels
                                   ///< stand is no leftover of a read a polling round apart
  double pause_s = 0.6;            ///< CT-06: the slowest control acts twice a second
  double witness_mps = 7.0 / 3.6;  ///< CT-30: control does not set in below 5 to 10 km/h
  double rise_s = 0.1, rise_mps = 0.15;  ///< chosen: a wheel that gained this much was let go, and
                                         ///< came back near the car's speed
  double fit_s = 0.8;                    ///< the car's deceleration is taken from this long before
  double least_decel_mps2 = 0.5;         ///< chosen: locked on the slickest ice (FR-20 to FR-26)
  double rest_share = 0.2;               ///< chosen: less than this share of the braking is rest
  double most_decel_mps2 = 10.0;         ///< chosen: locked on the best dry road (FR-09)
  double gain_mps2 = 7.0;      ///< chosen: no road car pulls away faster; a wheel that rises so was
                               ///< let go and runs up to the car's speed
  double recovered_mps = 1.0;  ///< chosen: so far up, it is no stray sample
  double regain_s = 0.6;     ///< CT-06: one cycle of the slowest control; its highest point counts
  double below_line = 0.02;  ///< chosen: half the slip that shows; lower points are wheels in slip
  double off_line = 0.04;    ///< chosen: twice that; a stretch that bends so was not braked yet
  double least_gain = 0.67, most_gain = 1.5;  ///< chosen: an accelerometer outside shows another
                                              ///< axis, sign or unit
};

/// A stretch of the grid in which every wheel stood while the car went on.
struct AllLocked {
  std::size_t from = 0,
              to = 0;         ///< grid points; at `to` the car stands or a wheel carries it again
  std::vector<double> v_mps;  ///< the car's speed at from .. to, carried on
  bool measured = false;      ///< by the accelerometer or between two wheels that carried the
                              ///< car, not by the deceleration before
  bool signal = false;  ///< every signal ended within a sample: no wheel does that, and nothing is
                        ///< carried on
};

/// Finds where all wheels stand but the car cannot: the fastest wheel fell to a stand faster than
/// any car can slow, or the control set in anew while every wheel stood, which it does only in a
/// moving car. Where a wheel then runs up faster than a car can gain speed, it was let go and tells
/// the car's speed: a straight line leads there. Else the speed is carried on by the accelerometer
/// where it agreed with the wheels before, or with the deceleration that the car had before (less
/// where the control was seen at work later than that would allow, more where the car pulled away
/// before it could have stopped), until the car stands or a wheel is above that line again.
///
/// Shape: `top_mps` the fastest wheel on an even grid of `step_s`; `accel_mps2` empty or as long,
///        NaN where unknown, any offset and gain; `control` grid points at which the control set in
///        anew, ascending. Result in order of time.
std::vector<AllLocked> find_all_locked(std::span<const double> top_mps, double step_s,
                                       std::span<const double> accel_mps2,
                                       std::span<const std::size_t> control,
                                       const AllLockedSettings& settings = {});

}  // namespace stopledger
