#include "verify/car_speed.h"

#include <algorithm>
#include <cmath>

#include "base/quantity.h"
#include "signal/series.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

/// The deceleration before point `last`, by a least-squares line over criteria.tail_fit_s.
double slowing_before(const CarSpeed& speed, std::size_t last) {
  double n = 0, st = 0, sv = 0, stt = 0, stv = 0;
  for (std::size_t i = last + 1;
       i-- > 0 && speed.t_s[last] - speed.t_s[i] <= criteria.tail_fit_s;) {
    // The bend where braking sets in is no part of it.
    if (speed.v_mps[i] > 0.9 * speed.v_mps.front() && n >= 3) break;
    const double t = speed.t_s[i] - speed.t_s[last];
    n += 1, st += t, sv += speed.v_mps[i], stt += t * t, stv += t * speed.v_mps[i];
  }
  const double spread = n * stt - st * st;
  return n >= 3 && spread > 0.0 ? -(n * stv - st * sv) / spread : 0.0;
}

/// Draws the last metres, from the last point at `floor_mps` or more: the car slows no faster than
/// before.
void draw_last_metres(CarSpeed& speed, double floor_mps, double step_s, double factor) {
  std::size_t last = 0;
  for (std::size_t i = 0; i < speed.v_mps.size(); ++i)
    if (speed.v_mps[i] >= floor_mps) last = i;
  const double decel = slowing_before(speed, last) * factor;
  if (!(decel > criteria.brake_end_mps2)) return;
  const double from_mps = speed.v_mps[last], from_s = speed.t_s[last];
  const auto line = [&](double t) { return from_mps - decel * (t - from_s); };
  for (std::size_t i = last + 1; i < speed.v_mps.size(); ++i)
    speed.v_mps[i] = std::max({speed.v_mps[i], line(speed.t_s[i]), 0.0});
  while (speed.v_mps.back() > 0.0 && line(speed.t_s.back()) > 0.0) {
    const double t = speed.t_s.back() + step_s;
    speed.t_s.push_back(t);
    speed.v_mps.push_back(std::max(0.0, line(t)));
  }
}

}  // namespace

CarSpeed car_speed_by_wheels(const BrakedPiece& piece, const SpeedAssumption& assumption) {
  const ReferenceSpeed& part = piece.part;
  CarSpeed speed;
  double lost = 0.0;  // by which the carried speed was put lower or higher
  for (std::size_t i = piece.from; i <= piece.to; ++i) {
    const double slip = std::clamp(-part.a_mps2[i] / (gravity_mps2 * piece.stiffness), 0.0,
                                   criteria.edge_slip_most);
    const double beside =
        part.a_mps2[i] < -criteria.brake_decel_mps2 ? assumption.slip_beside : 0.0;
    const double v = part.v_mps[i] / (1.0 - slip * assumption.slip - beside);
    // A wheel that carries the car again ends what was assumed.
    lost = part.carried[i] && i > piece.from
               ? lost + (assumption.carried - 1.0) * (part.v_mps[i - 1] - part.v_mps[i])
               : 0.0;
    speed.t_s.push_back(part.start_s + part.step_s * static_cast<double>(i));
    speed.v_mps.push_back(std::max(0.0, v - lost));
  }
  const bool controlled = piece.stiffness < criteria.edge_stiffness_rolling;
  if (piece.stands)
    draw_last_metres(speed, controlled ? criteria.judge_floor_mps : criteria.fade_mps, part.step_s,
                     assumption.tail * (controlled ? criteria.tail_share : 1.0));
  return speed;
}

std::optional<CarSpeed> car_speed_by_accelerometer(const PreparedLog& run,
                                                   const BrakedPiece& piece) {
  const Channel* channel = run.channel(QuantityKind::accel_long);
  if (!channel || !piece.stands || channel->rate_hz.value_or(0.0) < criteria.accel_hz)
    return std::nullopt;
  const ReferenceSpeed& part = piece.part;
  const double start = part.start_s + part.step_s * static_cast<double>(piece.from);
  const double wheels_end = part.start_s + part.step_s * static_cast<double>(piece.to);
  const Series& accel = channel->series;
  // What it shows beyond the car's own slowing, while the wheels still roll.
  std::vector<double> rest;
  for (std::size_t i = first_at_or_after(accel.t_s, start - criteria.accel_rest_s);
       i < accel.size() && accel.t_s[i] < start - 0.1; ++i)
    if (const double a = part.slope_at(accel.t_s[i]); !std::isnan(a))
      rest.push_back(accel.value[i] - a);
  if (rest.size() < 5) return std::nullopt;
  const double offset = median(std::move(rest));

  std::vector<double> t, a, braking;
  const std::size_t first = first_at_or_after(accel.t_s, start);
  for (std::size_t i = first;
       i < accel.size() && accel.t_s[i] < wheels_end + criteria.accel_after_s; ++i) {
    t.push_back(accel.t_s[i]);
    a.push_back(accel.value[i] - offset);
    if (accel.t_s[i] < wheels_end) braking.push_back(a.back());
  }
  if (braking.size() < 5) return std::nullopt;
  const double usual = median(std::move(braking));
  // Standing is where it ends to show the braking, and it must be seen to end.
  std::size_t stand = 0;
  for (std::size_t i = 0; i < a.size(); ++i)
    if (a[i] < 0.5 * usual) stand = i;
  if (!(usual < -criteria.brake_end_mps2) || stand < 5 || stand + 3 >= a.size())
    return std::nullopt;

  std::vector<double> lost{0.0};  // speed, of unknown scale
  for (std::size_t i = 1; i <= stand; ++i)
    lost.push_back(lost.back() - 0.5 * (a[i] + a[i - 1]) * (t[i] - t[i - 1]));
  // The car stands somewhere between the last braking sample and the next one.
  const double whole =
      lost.back() - 0.5 * a[stand] * (t[stand + 1] - t[stand]) - a.front() * (t.front() - start);
  const double v0 = part.v_mps[piece.from];
  const double gain = v0 / whole;
  if (!(gain > criteria.accel_gain_least && gain < 1.0 / criteria.accel_gain_least))
    return std::nullopt;
  CarSpeed speed;
  speed.by_accelerometer = true;
  for (std::size_t i = piece.from;; ++i) {
    const double at = part.start_s + part.step_s * static_cast<double>(i);
    double v = v0;
    if (at >= t[stand])
      v = std::max(0.0, v0 - gain * lost.back() + gain * a[stand] * (at - t[stand]));
    else if (at > t.front())
      v = v0 - gain * (linear_at(t, lost, at, 1.0).value_or(0.0) - a.front() * (t.front() - start));
    speed.t_s.push_back(at);
    speed.v_mps.push_back(v);
    // No wheel outruns a braked car.
    if (i < part.v_mps.size() && part.v_mps[i] > v + criteria.accel_off_mps + 0.03 * v)
      return std::nullopt;
    if (v <= 0.0) break;
  }
  return speed;
}

}  // namespace stopledger
