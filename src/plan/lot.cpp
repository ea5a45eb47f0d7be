#include "plan/lot.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stopledger {
namespace {

double diagonal_m(const LotCase& lot) { return std::hypot(lot.car_length_m, lot.car_width_m); }

// Width beyond the diagonal is this times v^2: heading error over v^2/2d + v^2/2p, and drift
// g camber t^2 / 2 with t = v / d, both sides.
double width_per_v2(const LotCase& lot, double stop_mps2, double parking_mps2) {
  const double along = 0.5 / stop_mps2 + 0.5 / parking_mps2;
  const double drift = 0.5 * gravity_mps2 * lot.camber / (stop_mps2 * stop_mps2);
  return 2.0 * (lot.heading_error * along + drift);
}

}  // namespace

double sure_deceleration(const LotCase& lot) { return gravity_mps2 * (lot.mu + lot.slope); }

double parking_deceleration(const LotCase& lot) {
  return std::min(lot.parking_mps2, gravity_mps2 * lot.mu * lot.rear_load_share) +
         gravity_mps2 * lot.slope;
}

std::optional<LotNeed> lot_need(const LotCase& lot, MetresPerSecond speed) {
  const double stop = sure_deceleration(lot);
  const double parking = parking_deceleration(lot);
  if (!(stop > 0.0) || !(parking > 0.0)) return std::nullopt;
  const double v = speed.value();
  LotNeed need;
  need.run_up_m = v * v / (2.0 * lot.pull_away_mps2);
  need.reaction_m = v * lot.reaction_s;
  need.stop_m = v * v / (2.0 * stop);
  need.run_off_m = v * v / (2.0 * parking);
  need.stop_s = v / stop;
  need.turning_m = lot.turning_circle_m;
  need.width_m = diagonal_m(lot) + width_per_v2(lot, stop, parking) * v * v;
  return need;
}

MetresPerSecond entry_speed(const LotCase& lot, Metres length, std::optional<Metres> width) {
  const double stop = sure_deceleration(lot);
  const double parking = parking_deceleration(lot);
  if (!(stop > 0.0) || !(parking > 0.0) || !(length.value() > 0.0)) return MetresPerSecond(0.0);
  // length = k v^2 + reaction v, solved for v.
  const double k = 0.5 / lot.pull_away_mps2 + 0.5 / stop + 0.5 / parking;
  const double r = lot.reaction_s;
  double v = (-r + std::sqrt(r * r + 4.0 * k * length.value())) / (2.0 * k);
  if (width) {
    const double spare = width->value() - diagonal_m(lot);
    v = spare > 0.0 ? std::min(v, std::sqrt(spare / width_per_v2(lot, stop, parking))) : 0.0;
  }
  return MetresPerSecond(v);
}

double held_kmh(double kmh) {
  constexpr double step_kmh = 5.0;
  return step_kmh * std::floor(kmh / step_kmh + 1e-9);
}

}  // namespace stopledger
