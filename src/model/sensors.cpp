#include "model/sensors.h"

#include <cmath>
#include <numbers>
#include <utility>

namespace stopledger::model {
namespace {

constexpr double lowest_mps = 0.4;      // passive sensors fall silent below a walking pace
constexpr double noise = 0.002;         // ring pitch error, relative
constexpr double dropouts_per_s = 3.0;  // at degree 1
constexpr double turn = 2.0 * std::numbers::pi;
constexpr double crack_share = 0.03;  // of a turn: about one and a half of 48 teeth

}  // namespace

WheelSensors::WheelSensors(const Case& c)
    : radius_m_(c.car.rolling_radius_m), sensors_(c.unit.sensors) {
  for (const Fault& fault : c.faults) {
    if (fault.kind == FaultKind::sensor_dead) dead_[fault.corner] = fault.degree;
    if (fault.kind == FaultKind::sensor_dropout) dropout_[fault.corner] = fault.degree;
    if (fault.kind == FaultKind::ring_cracked) cracked_[fault.corner] = fault.degree;
    if (fault.kind == FaultKind::sensors_swapped && fault.degree > 0.0)
      (is_front(fault.corner) ? swapped_front_ : swapped_rear_) = true;
  }
}

PerCorner<double> WheelSensors::read(const PerCorner<double>& spin, double dt_s, Random& random) {
  PerCorner<double> out;
  for (Corner corner : all_corners) {
    double v = spin[corner] * radius_m_;
    if (sensors_ == 3 && !is_front(corner))
      v = 0.5 * (spin[Corner::rl] + spin[Corner::rr]) * radius_m_;
    v *= 1.0 + noise * random.normal(0.0, 1.0);
    angle_[corner] = std::fmod(angle_[corner] + spin[corner] * dt_s, turn);
    // A crack widens one gap: the signal dips once a turn, more so when it is weak (slow).
    if (cracked_[corner] > 0.0 && angle_[corner] < crack_share * turn)
      v *= 1.0 - 0.6 * cracked_[corner];
    silent_left_s_[corner] -= dt_s;
    if (dropout_[corner] > 0.0 && silent_left_s_[corner] <= 0.0 &&
        random.chance(dropouts_per_s * dropout_[corner] * dt_s))
      silent_left_s_[corner] = random.log_uniform(0.01, 0.2);
    if (silent_left_s_[corner] > 0.0 || v < lowest_mps || dead_[corner] >= 0.5) v = 0.0;
    out[corner] = v;
  }
  if (swapped_front_) std::swap(out[Corner::fl], out[Corner::fr]);
  if (swapped_rear_) std::swap(out[Corner::rl], out[Corner::rr]);
  return out;
}

}  // namespace stopledger::model
