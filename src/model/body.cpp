#include "model/body.h"

#include <algorithm>
#include <cmath>

#include "base/quantity.h"

namespace stopledger::model {
namespace {

constexpr double load_lag_s = 0.06;  // body pitch and roll follow acceleration
constexpr double air_kgpm3 = 1.2;
constexpr double standing_mps = 0.03;
constexpr double sliding_mps = 0.2;
constexpr double rolling_above_mps = 0.1;

}  // namespace

Body::Body(const Car& car, double start_mps) : car_(car), speed_(start_mps) {
  for (Corner corner : all_corners) spin_[corner] = speed_ / radius_m(corner);
  update_loads();
}

double Body::driven_mps() const {
  double sum = 0.0;
  int n = 0;
  for (Corner corner : all_corners)
    if (driven(corner)) sum += spin_[corner] * radius_m(corner), ++n;
  return sum / n;
}

double Body::kinetic_j() const {
  double sum = 0.5 * car_.mass_kg * (speed_ * speed_ + side_ * side_) +
               0.5 * car_.yaw_inertia_kgm2 * yaw_rate_ * yaw_rate_;
  for (Corner corner : all_corners)
    sum += 0.5 * car_.wheel_inertia_kgm2 * spin_[corner] * spin_[corner];
  return sum;
}

void Body::update_loads() {
  const double weight = car_.mass_kg * gravity_mps2;
  const double front_share = 1.0 - car_.cg_to_front_m / car_.wheelbase_m;
  const double along = car_.mass_kg * load_accel_ * car_.cg_height_m / car_.wheelbase_m;
  const double across = car_.mass_kg * load_lateral_ * car_.cg_height_m / car_.track_m;
  for (Corner corner : all_corners) {
    const bool front = is_front(corner);
    const double share = front ? front_share : 1.0 - front_share;
    double load = 0.5 * (weight * share + (front ? -along : along));
    load += (is_left(corner) ? -1.0 : 1.0) * across * share;  // a left turn loads the right side
    load_[corner] = std::max(load, 0.0);
  }
}

void Body::step(const BodyInput& in, double dt_s) {
  const int driven_wheels = car_.drive == Drive::all ? 4 : 2;
  double force_x = 0.0, force_y = 0.0, moment = 0.0;
  for (Corner corner : all_corners) {
    const bool front = is_front(corner);
    const double x = front ? car_.cg_to_front_m : car_.cg_to_front_m - car_.wheelbase_m;
    const double y = (is_left(corner) ? 0.5 : -0.5) * car_.track_m;
    const double vx = speed_ - yaw_rate_ * y;
    const double vy = side_ + yaw_rate_ * x;
    const double cs = front ? std::cos(in.steer_rad) : 1.0;
    const double sn = front ? std::sin(in.steer_rad) : 0.0;
    const double along = cs * vx + sn * vy, across = cs * vy - sn * vx;
    const double r = radius_m(corner);
    TyreForce tyre = tyre_force(in.road[corner], load_[corner], along, across, spin_[corner] * r,
                                front ? car_.front_lateral_stiffness : car_.rear_lateral_stiffness);
    slip_[corner] = tyre.slip;

    double drive_nm = 0.0, inertia = car_.wheel_inertia_kgm2;
    if (driven(corner)) {
      const Corner other = axle_partner(corner);
      drive_nm = in.drive_nm / driven_wheels +
                 car_.limited_slip_nm_per_mps * (spin_[other] - spin_[corner]) * r;
      if (in.clutch) inertia += car_.driveline_inertia_kgm2 / driven_wheels;
      energy_.engine += drive_nm * spin_[corner] * dt_s;
    }
    const double brake_nm = (front ? car_.front_brake_nm_per_kpa : car_.rear_brake_nm_per_kpa) *
                            std::max(in.clamp_kpa[corner] - car_.brake_threshold_kpa, 0.0);
    const double before = spin_[corner];
    spin_wheel(corner, tyre, drive_nm, brake_nm, inertia, dt_s);
    const double mean_spin = 0.5 * (before + spin_[corner]);
    // The road gets the force that the implicit step has reckoned with.
    if (spin_[corner] > 0.0)
      tyre.braking_n -= std::max(tyre.braking_slope_n, 0.0) * (spin_[corner] - before) * r /
                        slip_base(spin_[corner] * r);
    energy_.brakes += brake_nm * mean_spin * dt_s;
    energy_.tyres += (tyre.braking_n * (along - mean_spin * r) - tyre.lateral_n * across) * dt_s;

    const double roll_n =
        speed_ > rolling_above_mps ? car_.rolling_resistance * load_[corner] : 0.0;
    energy_.resistance += roll_n * along * dt_s;
    const double fx = -tyre.braking_n - roll_n;
    const double body_x = cs * fx - sn * tyre.lateral_n;
    const double body_y = sn * fx + cs * tyre.lateral_n;
    force_x += body_x;
    force_y += body_y;
    moment += x * body_y - y * body_x;
  }
  const double outside = 0.5 * air_kgpm3 * car_.drag_area_m2 * speed_ * speed_ +
                         car_.mass_kg * gravity_mps2 * in.slope;
  energy_.resistance += outside * speed_ * dt_s;
  const double accel = (force_x - outside) / car_.mass_kg;
  const double lateral = force_y / car_.mass_kg;

  const double next = speed_ + (accel + yaw_rate_ * side_) * dt_s;
  // A car that slides sideways may pass through zero forward speed without standing.
  const bool slides = std::abs(side_) > sliding_mps;
  const bool held = in.held && !slides && (next < standing_mps || speed_ == 0.0);
  if ((next <= 0.0 && !slides) || held) {
    speed_ = side_ = yaw_rate_ = accel_ = lateral_ = 0.0;
    if (held) spin_ = {};
  } else {
    side_ += (lateral - yaw_rate_ * speed_) * dt_s;
    yaw_rate_ += moment / car_.yaw_inertia_kgm2 * dt_s;
    speed_ = next;
    accel_ = accel;
    lateral_ = lateral;
  }
  heading_ += yaw_rate_ * dt_s;
  way_ += speed_ * dt_s;
  load_accel_ += (accel_ - load_accel_) * dt_s / load_lag_s;
  load_lateral_ += (lateral_ - load_lateral_) * dt_s / load_lag_s;
  update_loads();
}

double Body::slip_base(double rolling_mps) const {
  return std::max({std::abs(speed_), rolling_mps, slip_floor_mps});
}

/// The tyre is far stiffer than the step at low speed, hence the implicit term. A brake can stop
/// a wheel but not turn it backwards.
void Body::spin_wheel(Corner corner, const TyreForce& tyre, double drive_nm, double brake_nm,
                      double inertia, double dt_s) {
  double& spin = spin_[corner];
  const double r = radius_m(corner);
  const double base = slip_base(spin * r);
  const double stiffness = std::max(tyre.braking_slope_n, 0.0) * r * r / base;
  const double free_nm = r * tyre.braking_n + drive_nm;
  if (spin <= 0.0 && free_nm <= brake_nm) {
    spin = 0.0;
    return;
  }
  spin = std::max(spin + dt_s * (free_nm - brake_nm) / (inertia + dt_s * stiffness), 0.0);
}

}  // namespace stopledger::model
