#include "log/motion_units.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/quantity.h"

namespace stopledger {
namespace {

constexpr double degree = std::numbers::pi / 180.0;
constexpr double usual_track_m = 1.45, usual_wheelbase_m = 2.6, usual_steering_ratio = 16.0;
/// Slower than this the wheels' difference is mostly noise (chosen).
constexpr double least_speed_mps = 3.0;

/// Value of a series at a time, between its samples; NaN where they are over half a second apart.
double value_at(const Series& series, double t) {
  const auto after = std::lower_bound(series.t_s.begin(), series.t_s.end(), t);
  if (after == series.t_s.begin() || after == series.t_s.end()) return std::nan("");
  const auto i = static_cast<std::size_t>(after - series.t_s.begin());
  const double span = series.t_s[i] - series.t_s[i - 1];
  if (span > 0.5) return std::nan("");
  const double share = span > 0.0 ? (t - series.t_s[i - 1]) / span : 1.0;
  return series.value[i - 1] + share * (series.value[i] - series.value[i - 1]);
}

/// The car's motion as its wheels show it.
class Motion {
 public:
  Motion(const Log& log, const CarFacts& car) : car_(car) {
    const auto known = [&](const Role& role) -> const Channel* {
      const auto* channel = log.find(role);
      return channel != nullptr && channel->unit_known ? channel : nullptr;
    };
    using Q = QuantityKind;
    left_ = known(Role::at(Q::wheel_speed, Corner::rl));
    right_ = known(Role::at(Q::wheel_speed, Corner::rr));
    speed_ = known(Role::of_car(Q::vehicle_speed));
    if (speed_ == nullptr) speed_ = left_;
    yaw_ = known(Role::of_car(Q::yaw_rate));
  }

  [[nodiscard]] double speed(double t) const {
    return speed_ == nullptr ? std::nan("") : value_at(speed_->series, t);
  }
  /// rad/s, positive to the left; NaN at a wheel that slips.
  [[nodiscard]] double yaw_rate(double t) const {
    if (yaw_ != nullptr) return value_at(yaw_->series, t);
    if (left_ == nullptr || right_ == nullptr) return std::nan("");
    const double l = value_at(left_->series, t), r = value_at(right_->series, t);
    if (!(std::min(l, r) > 0.7 * std::max(l, r))) return std::nan("");
    return (r - l) / car_.track_m.value_or(usual_track_m);
  }
  /// What the channel should show at that time, SI.
  [[nodiscard]] double expected(QuantityKind quantity, double t) const {
    const double v = speed(t);
    if (!(v > least_speed_mps)) return std::nan("");
    switch (quantity) {
      case QuantityKind::yaw_rate:
        return yaw_rate(t);
      case QuantityKind::accel_lat:
        return v * yaw_rate(t);
      case QuantityKind::accel_long:
        return (speed(t + 0.25) - speed(t - 0.25)) / 0.5;
      case QuantityKind::steering_angle:
        // The bicycle model with an understeer of 0.003 rad per m/s2 (from memory: 0.001 to 0.005).
        return car_.steering_ratio.value_or(usual_steering_ratio) * yaw_rate(t) *
               (car_.wheelbase_m.value_or(usual_wheelbase_m) / v + 0.003 * v);
      default:
        return std::nan("");
    }
  }

 private:
  const CarFacts& car_;
  const Channel* left_ = nullptr;
  const Channel* right_ = nullptr;
  const Channel* speed_ = nullptr;
  const Channel* yaw_ = nullptr;
};

struct Candidate {
  const char* unit;
  double factor;
  double largest;  ///< no car shows more, as written
};

/// Largest: five rad/s and 25 m/s2 are beyond any car on its wheels; a steering wheel has at most
/// two turns to a side.
constexpr Candidate of_yaw_rate[] = {{"rad/s", 1.0, 5.0}, {"deg/s", degree, 300.0}};
constexpr Candidate of_steering[] = {{"rad", 1.0, 15.0}, {"deg", degree, 900.0}};
constexpr Candidate of_acceleration[] = {{"g", gravity_mps2, 2.5}, {"m/s2", 1.0, 25.0}};

std::span<const Candidate> candidates(QuantityKind quantity) {
  switch (quantity) {
    case QuantityKind::yaw_rate:
      return of_yaw_rate;
    case QuantityKind::steering_angle:
      return of_steering;
    case QuantityKind::accel_lat:
    case QuantityKind::accel_long:
      return of_acceleration;
    default:
      return {};
  }
}

/// SI per written unit by the slope of what is expected over what is written; nothing when the two
/// do not go together.
std::optional<double> slope_of(const Channel& channel, const Motion& motion) {
  constexpr std::size_t least = 20, most = 4000;
  constexpr double least_correlation = 0.7;
  const auto& s = channel.series;
  double n = 0, sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
  const std::size_t stride = std::max<std::size_t>(1, s.size() / most);
  for (std::size_t i = 0; i < s.size(); i += stride) {
    const double y = motion.expected(channel.role.quantity, s.t_s[i]), x = s.value[i];
    if (std::isnan(y)) continue;
    n += 1, sx += x, sy += y, sxx += x * x, syy += y * y, sxy += x * y;
  }
  if (n < static_cast<double>(least)) return std::nullopt;
  const double xx = sxx - sx * sx / n, yy = syy - sy * sy / n, xy = sxy - sx * sy / n;
  if (xx <= 0.0 || yy <= 0.0 || std::abs(xy) < least_correlation * std::sqrt(xx * yy))
    return std::nullopt;
  return std::sqrt(yy / xx);  // whichever of the two has the noise
}

/// The unit of one channel and why; nullptr when nothing decides.
const Candidate* unit_of(const Channel& channel, const Motion& motion, std::string& why) {
  double largest = 0.0;
  for (const double value : channel.series.value) largest = std::max(largest, std::abs(value));
  const auto list = candidates(channel.role.quantity);
  if (const auto slope = slope_of(channel, motion)) {
    for (const auto& candidate : list)
      if (std::abs(std::log(*slope / candidate.factor)) < std::log(3.0)) {
        why = "because it then fits the motion that the wheels show";
        return &candidate;
      }
    return nullptr;
  }
  const Candidate* possible = nullptr;
  for (const auto& candidate : list) {
    if (largest > candidate.largest) continue;
    if (possible != nullptr) return nullptr;
    possible = &candidate;
  }
  why = fmt::format("because it reaches {:.4g}", largest);
  return possible;
}

std::string question_about(const Channel& channel) {
  double largest = 0.0;
  for (const double value : channel.series.value) largest = std::max(largest, std::abs(value));
  std::string text;
  for (const auto& candidate : candidates(channel.role.quantity))
    text += fmt::format("{}{}", text.empty() ? "" : " or ", candidate.unit);
  return fmt::format(
      "it is {} without a unit that is known, and neither its size (up to {:.3g}) nor the wheels "
      "show whether {}; give its unit",
      role_name(channel.role), largest, text);
}

}  // namespace

void settle_motion_units(Log& log, const CarFacts& car) {
  // The yaw rate first: steering and lateral acceleration are judged by it.
  for (const auto quantity : {QuantityKind::yaw_rate, QuantityKind::accel_long,
                              QuantityKind::accel_lat, QuantityKind::steering_angle}) {
    const Role role = Role::of_car(quantity);
    const auto found =
        std::find_if(log.channels.begin(), log.channels.end(),
                     [&](const Channel& c) { return c.role == role && !c.unit_known; });
    if (found == log.channels.end()) continue;
    std::string why;
    const auto* unit = unit_of(*found, Motion(log, car), why);
    if (unit == nullptr) {
      log.questions.push_back({found->column, question_about(*found), role, true});
      log.channels.erase(found);
      continue;
    }
    for (auto& value : found->series.value) value *= unit->factor;
    if (found->quantum) *found->quantum *= unit->factor;
    log.notes.push_back(fmt::format(
        "\"{}\" {}; read as {} {}", found->column,
        found->unit.empty() ? "has no unit"
                            : fmt::format("has a unit that is not known (\"{}\")", found->unit),
        unit->unit, why));
    found->unit = unit->unit;
    found->unit_known = true;
  }
}

}  // namespace stopledger
