#include "verify/stop_measure.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/quantity.h"
#include "signal/series.h"
#include "signal/stopping.h"
#include "verify/car_speed.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// When the brake switch closed, and how far to either side that may have been (s).
struct PedalDown {
  double at_s = 0.0, within_s = 0.0;
};

/// When the brake switch closed, if that was seen shortly before the slowing or in its first part
/// (a car slows in a bend, too). `begun`: it was closed already when the log began.
std::optional<PedalDown> pedal_down(const PreparedLog& run, const ReferenceSpeed& part,
                                    std::size_t from, bool& begun) {
  begun = false;
  const Channel* pedal = run.channel(QuantityKind::brake_switch);
  if (!pedal) return std::nullopt;
  const double slowing_s = part.start_s + part.step_s * static_cast<double>(from);
  for (const OnRun& on : on_runs(pedal->series, criteria.on_duty)) {
    if (on.last_on_s < slowing_s) continue;
    if (on.off_before_s == on.first_on_s) {
      begun = on.first_on_s < slowing_s;
      return std::nullopt;
    }
    const double down_s = 0.5 * (on.off_before_s + on.first_on_s);
    if (on.first_on_s - on.off_before_s < criteria.pedal_seen_s &&
        down_s > slowing_s - criteria.pedal_before_s && part.at(down_s) > 0.8 * part.v_mps[from])
      return PedalDown{down_s, 0.5 * (on.first_on_s - on.off_before_s)};
    return std::nullopt;
  }
  return std::nullopt;
}

/// How long two wheels or more were locked above the speed where that is tolerated.
double two_locked_s(const PreparedLog& run, const ReferenceSpeed& part, std::size_t from,
                    std::size_t to) {
  std::vector<int> locked(to - from + 1, 0);
  for (const WheelView& wheel : run.wheels.values) {
    std::size_t k =
        first_at_or_after(wheel.t_s, part.start_s + part.step_s * static_cast<double>(from));
    for (std::size_t i = from; i <= to && k < wheel.t_s.size(); ++i) {
      const double t = part.start_s + part.step_s * static_cast<double>(i);
      while (k + 1 < wheel.t_s.size() && wheel.t_s[k + 1] <= t) ++k;
      if (wheel.t_s[k] <= t && wheel.slip[k] > criteria.lock_slip) ++locked[i - from];
    }
  }
  double sum_s = 0.0;
  for (std::size_t i = from; i <= to; ++i)
    if (locked[i - from] >= 2 && part.v_mps[i] > criteria.lock_floor_mps) sum_s += part.step_s;
  return sum_s;
}

/// Sums what each doubt does to length and MFDD, as variances of their logarithms.
class Doubts {
 public:
  explicit Doubts(const StopMeasure& usual) : usual_(usual) {}
  /// One that leads to another curve.
  void add(StopDoubt kind, const CarSpeed& other) {
    const StopMeasure measure = measure_stop(other.t_s, other.v_mps);
    const double mfdd =
        measure.mfdd && usual_.mfdd ? std::log(measure.mfdd->value() / usual_.mfdd->value()) : 0.0;
    add(kind, std::log(measure.distance.value() / usual_.distance.value()), mfdd);
  }
  /// One known by its share.
  void add(StopDoubt kind, double distance, double mfdd) {
    distance_ += distance * distance;
    mfdd_ += mfdd * mfdd;
    const double both = distance * distance + mfdd * mfdd;
    if (both > largest_) largest_ = both, kind_ = kind;
  }
  /// 95 % bounds as shares: the true value lies between value / (1 + share) and
  /// value * (1 + share).
  [[nodiscard]] double distance() const { return std::expm1(normal_95 * std::sqrt(distance_)); }
  [[nodiscard]] double mfdd() const { return std::expm1(normal_95 * std::sqrt(mfdd_)); }
  [[nodiscard]] StopDoubt largest() const { return kind_; }

 private:
  static constexpr double normal_95 = 1.96;
  StopMeasure usual_;
  double distance_ = 0.0, mfdd_ = 0.0, largest_ = 0.0;
  StopDoubt kind_ = StopDoubt::none;
};

/// Looks a second at the speed: that of the wheel looked at most often, or the car's own.
double looks_hz(const PreparedLog& run) {
  double fastest = 0.0;
  for (const WheelView& wheel : run.wheels.values) fastest = std::max(fastest, wheel.rate_hz);
  if (const Channel* own = run.channel(QuantityKind::vehicle_speed); own && fastest == 0.0)
    fastest = own->rate_hz.value_or(0.0);
  return std::max(fastest, 0.5);
}

/// Whether wheels spun up shortly before point `from`: what they read is then no speed of the car.
bool spun_before(const ReferenceSpeed& part, std::size_t from) {
  const auto reach = static_cast<std::size_t>(criteria.spun_before_s / part.step_s);
  for (std::size_t i = from > reach ? from - reach : 0; i <= from; ++i)
    if (part.spin[i]) return true;
  return false;
}

/// All that may be wrong with a stop measured on `speed`.
Doubts doubts_of(const PreparedLog& run, const BrakedPiece& piece, const CarSpeed& speed,
                 const StopMeasure& measure, const Episode& episode,
                 const std::optional<PedalDown>& pedal) {
  Doubts doubts(measure);
  const bool controlled = piece.stiffness < criteria.edge_stiffness_rolling;
  if (speed.by_accelerometer) {
    doubts.add(StopDoubt::wheel_slip, criteria.accel_doubt, criteria.accel_doubt);
  } else {
    const double whole_s = std::max(episode.end_s - episode.start_s, 0.1);
    doubts.add(StopDoubt::wheel_slip,
               car_speed_by_wheels(piece, {.slip = 1.0 + criteria.edge_doubt}));
    doubts.add(
        StopDoubt::wheel_slip,
        car_speed_by_wheels(piece, {.slip_beside = controlled ? criteria.edge_doubt_least : 0.0}));
    doubts.add(StopDoubt::two_locked,
               car_speed_by_wheels(
                   piece, {.slip_beside = criteria.locked_doubt * episode.two_locked_s / whole_s}));
    doubts.add(StopDoubt::last_metres,
               car_speed_by_wheels(piece, {.tail = 1.0 - criteria.tail_doubt}));
    doubts.add(StopDoubt::all_locked,
               car_speed_by_wheels(piece, {.carried = 1.0 + criteria.carried_doubt}));
  }
  doubts.add(StopDoubt::wheel_size, criteria.scale_doubt, criteria.scale_doubt);
  const double v0 = speed.v_mps.front(), length = measure.distance.value();
  const double look_s = criteria.look_doubt / looks_hz(run);
  // The way from 0.8 v0 to 0.1 v0 (ST-01).
  const double fully = measure.mfdd ? 0.63 * v0 * v0 / (2.0 * measure.mfdd->value()) : length;
  doubts.add(StopDoubt::slow_looks, v0 * look_s / length, 0.8 * v0 * look_s / fully);
  const double unseen_s = criteria.build_up_s * criteria.brake_end_mps2 * 2.0 * length / (v0 * v0);
  const double start_s =
      pedal ? pedal->within_s / std::sqrt(3.0) : criteria.onset_doubt_s + unseen_s;
  doubts.add(StopDoubt::start, v0 * start_s / length, 0.0);
  doubts.add(StopDoubt::coarse_speed, piece.part.sigma_mps / v0, piece.part.sigma_mps / (0.5 * v0));
  return doubts;
}

}  // namespace

void measure_braking(const PreparedLog& run, const ReferenceSpeed& part, std::size_t from,
                     std::size_t to, bool controlled, Stretch& stretch) {
  Episode& episode = stretch.episode;
  std::size_t apart = 0;
  for (std::size_t i = from; i <= to; ++i) apart += part.spread[i] ? 1 : 0;
  const double stiffness = 4 * apart > to - from || controlled ? criteria.edge_stiffness_control
                                                               : criteria.edge_stiffness_rolling;
  bool begun = false;
  const auto pedal = pedal_down(run, part, from, begun);
  const std::size_t first =
      pedal && part.index(pedal->at_s) + 1 < to ? part.index(pedal->at_s) : from;
  for (std::size_t i = first; i <= to; ++i)
    episode.carried_s += part.carried[i] && part.v_mps[i] > 0.0 ? part.step_s : 0.0;
  episode.two_locked_s = two_locked_s(run, part, from, to);
  episode.estimated =
      episode.carried_s > criteria.carried_s || episode.two_locked_s > criteria.lock_tolerated_s;

  const BrakedPiece piece{part, first, to, stiffness, stretch.reaches_standstill};
  const CarSpeed speed =
      car_speed_by_accelerometer(run, piece).value_or(car_speed_by_wheels(piece));
  stretch.by_accelerometer = speed.by_accelerometer;
  const StopMeasure measure = measure_stop(speed.t_s, speed.v_mps);
  if (!(measure.distance.value() > 0.0)) return;
  if (stretch.start_cut || begun) {
    episode.unmeasured = StopDoubt::start_cut;
    return;
  }
  if (!run.has_slip) {
    episode.unmeasured = StopDoubt::one_speed;
    return;
  }
  if (spun_before(part, from)) {
    episode.unmeasured = StopDoubt::wheels_spun;
    return;
  }
  const Doubts doubts = doubts_of(run, piece, speed, measure, episode, pedal);
  // Most of it guessed is no measure.
  if (episode.carried_s > criteria.carried_share * (episode.end_s - episode.start_s)) {
    episode.unmeasured = StopDoubt::all_locked;
    return;
  }
  if (!stretch.end_cut && doubts.distance() <= criteria.measure_share) {
    episode.distance_m = measure.distance.value();
    episode.distance_share = doubts.distance();
  }
  if (measure.mfdd && measure.mfdd->value() < criteria.impossible_mps2 &&
      doubts.mfdd() <= criteria.measure_share) {
    episode.mfdd_mps2 = measure.mfdd->value();
    episode.mfdd_share = doubts.mfdd();
  }
  if (std::max(doubts.distance(), measure.mfdd ? doubts.mfdd() : 0.0) > criteria.measure_share ||
      (measure.mfdd && measure.mfdd->value() >= criteria.impossible_mps2))
    episode.unmeasured = doubts.largest();
}

}  // namespace stopledger
