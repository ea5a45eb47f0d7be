#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/car.h"
#include "base/corner.h"
#include "log/log.h"
#include "signal/reference_speed.h"

namespace stopledger {

/// One wheel of one log, scaled to agree in free rolling, with its slip.
///
/// Shape: `t_s`, `v_mps`, `slip` of equal length; slip is NaN below the judging speed, and a mean
///        over `criteria.calm_s` where looks are that many.
struct WheelView {
  bool known = false;
  bool axle_mean = false;  ///< one sensor for both wheels of the axle
  double rate_hz = 0.0;
  double scale = 1.0;         ///< factor that was applied
  double noise_mps = 0.0;     ///< one standard deviation of a look at the slip, as a speed
  double quantum_mps = 0.0;   ///< step of the written values; 0 when fine
  double time_error_s = 0.0;  ///< largest read-time error of a sample
  int dropouts = 0;           ///< signal losses taken out
  std::string invalid;        ///< what the log says of invalid cells while the car moved, or ""
  std::vector<double> t_s, v_mps, slip;

  /// One standard deviation of the slip at a sample, from noise, step and read time.
  [[nodiscard]] double slip_sigma(double v_ref_mps, double decel_mps2, double ref_sigma) const;
  /// One standard deviation of the difference of two slips within a cycle: the reference speed and
  /// the read time err alike at both, the noise of a sample does not.
  [[nodiscard]] double change_sigma(double v_ref_mps) const;
};

/// On-times of a two-state channel, from its samples.
struct OnRun {
  double first_on_s = 0.0, last_on_s = 0.0;      ///< first and last sample that was on
  double off_before_s = 0.0, off_after_s = 0.0;  ///< nearest off samples around (or the log's ends)
  int samples = 0;
};

/// On-runs of a channel where value > threshold.
std::vector<OnRun> on_runs(const Series& series, double threshold);

/// One log prepared for judging: reference speed per segment, wheels with slip.
struct PreparedLog {
  const Log* log = nullptr;
  std::size_t index = 0;
  std::vector<ReferenceSpeed> reference;  ///< one per piece of a segment; may be empty
  bool has_slip = false;                  ///< at least two speeds to compare
  PerCorner<WheelView> wheels;
  double ref_sigma_mps = 0.05;
  bool scales_learned = false;

  [[nodiscard]] double v_at(double t) const;  ///< NaN where unknown
  [[nodiscard]] double a_at(double t) const;
  [[nodiscard]] bool spin_at(double t) const;
  [[nodiscard]] bool has_speed() const;
  [[nodiscard]] const Channel* channel(QuantityKind quantity) const {
    return log->find(Role::of_car(quantity));
  }
};

/// Estimates speeds and slips of one log.
PreparedLog prepare_log(const Log& log, std::size_t index, const CarFacts& car);

}  // namespace stopledger
