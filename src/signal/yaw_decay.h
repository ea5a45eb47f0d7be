#pragma once

#include <optional>
#include <span>

namespace stopledger {

/// How fast a car stopped turning after the steering came back.
struct YawDecay {
  double steer_end_s = 0.0;  ///< when the steering was straight again
  double peak_rad_s = 0.0;   ///< the first peak of the yaw rate after the last reversal, signed
  std::optional<double> share_1s;     ///< yaw rate 1.00 s after the end of steering over that peak
  std::optional<double> share_1_75s;  ///< the same 1.75 s after it
};

/// Settings of the above.
struct YawDecaySettings {
  double straight_rad = 0.087;     ///< chosen: 5 degrees, play and zero of an old steering sensor
  double least_steer_rad = 0.35;   ///< chosen: 20 degrees; less is holding the lane
  double least_peak_rad_s = 0.07;  ///< chosen: 4 deg/s; the share of less is noise
  double fall_share = 0.1;         ///< chosen: a fall by a tenth ends a peak,
  double fall_rad_s = 0.035;       ///< chosen: and by 2 deg/s, more than a gyroscope's noise
  double max_gap_s = 0.3;          ///< chosen: a straight line over more hides the peak
};

/// Yaw rate left 1.00 s and 1.75 s after the end of steering, as shares of the first peak after
/// the steering last changed sides (of the first peak at all where it never did): the quantities
/// of the stability criterion of the sine with dwell. Negative where the car turned to the other
/// side by then. Nothing where the steering did not move, did not come back or went out again at
/// once; a share is empty where the log ends or the driver steers again before it.
///
/// Shape:    `yaw_t_s`, `yaw_rad_s` of one length, `steer_t_s`, `steer_rad` of one length; times
///           rising; the stretch from straight to straight and two seconds more.
/// Unit:     rad/s, and rad at the steering wheel, of the same sign in the same direction.
/// Source:   EC-05, EC-06 in tests/SOURCES.md. The limits there, 35 % and 20 %, belong to that
///           test alone, at 80 km/h by a steering machine.
std::optional<YawDecay> yaw_decay(std::span<const double> yaw_t_s,
                                  std::span<const double> yaw_rad_s,
                                  std::span<const double> steer_t_s,
                                  std::span<const double> steer_rad,
                                  const YawDecaySettings& settings = {});

}  // namespace stopledger
