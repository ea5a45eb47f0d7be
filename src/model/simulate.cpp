#include "model/simulate.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/quantity.h"
#include "model/hydraulics.h"
#include "model/random.h"
#include "model/tyre.h"

namespace stopledger::model {
namespace {

constexpr double load_lag_s = 0.06;       // body pitch and roll follow acceleration
constexpr double texture_length_m = 0.7;  // friction wanders over about this length
constexpr double driver_lag_s = 0.25;     // steering correction: reaction and hands
constexpr double air_kgpm3 = 1.2;
constexpr double standing_mps = 0.03;

double toward(double value, double target, double step) {
  return value < target ? std::min(value + step, target) : std::max(value - step, target);
}

/// Adhesion under each wheel along the way: stretches of ground and a wandering texture.
class Road {
 public:
  Road(const std::vector<Ground>& ground, Random& random) : ground_(ground), random_(random) {}

  void move(double way_m, double dt_m, double wheelbase_m) {
    const double keep = std::exp(-dt_m / texture_length_m);
    const double kick = std::sqrt(1.0 - keep * keep) * 0.05;
    for (Corner corner : all_corners) {
      if (dt_m > 0.0) texture_[corner] = keep * texture_[corner] + kick * random_.normal(0.0, 1.0);
      const double at = is_front(corner) ? way_m : way_m - wheelbase_m;
      const Ground* here = &ground_.front();
      for (const Ground& stretch : ground_)
        if (stretch.from_m <= at) here = &stretch;
      const bool left = is_left(corner);
      curve_[corner] =
          tyre_curve(left ? here->surface : here->right_surface)
              .scaled((left ? here->factor : here->right_factor) * (1.0 + texture_[corner]));
    }
  }
  [[nodiscard]] const TyreCurve& at(Corner corner) const { return curve_[corner]; }

 private:
  const std::vector<Ground>& ground_;
  Random& random_;
  PerCorner<double> texture_;
  PerCorner<TyreCurve> curve_;
};

struct Driver {
  double pedal_kpa = 0.0, steer = 0.0, accelerator = 0.0, correction = 0.0;
};

class Simulation {
 public:
  Simulation(const Case& c, std::uint64_t seed)
      : c_(c),
        random_(seed),
        road_(c.ground, random_),
        hydraulics_(c),
        controller_(c),
        dt_(c.step_s),
        speed_(c.manoeuvre.start_mps) {
    for (Corner corner : all_corners) spin_[corner] = speed_ / radius(corner);
    update_loads();
  }

  Run run() {
    Run out;
    out.step_s = dt_;
    double total = 0.0;
    for (const Phase& phase : c_.manoeuvre.phases) total += std::min(phase.duration_s, 12.0);
    out.frames.reserve(static_cast<std::size_t>(total / dt_) + 16);
    for (const Phase& phase : c_.manoeuvre.phases) {
      double in_phase = 0.0;
      while (in_phase < phase.duration_s) {
        step(phase);
        out.frames.push_back(frame_);
        in_phase += dt_;
        if (phase.until_standstill && speed_ < standing_mps) break;
      }
    }
    return out;
  }

 private:
  [[nodiscard]] double radius(Corner corner) const {
    return c_.car.rolling_radius_m * c_.car.tyre_size[corner];
  }

  void update_loads() {
    const Car& car = c_.car;
    const double weight = car.mass_kg * gravity_mps2;
    const double front_static = weight * (1.0 - car.cg_to_front_m / car.wheelbase_m);
    const double along = car.mass_kg * load_accel_ * car.cg_height_m / car.wheelbase_m;
    const double across = car.mass_kg * load_lateral_ * car.cg_height_m / car.track_m;
    for (Corner corner : all_corners) {
      const bool front = is_front(corner);
      double load = 0.5 * (front ? front_static - along : weight - front_static + along);
      const double share = front ? front_static / weight : 1.0 - front_static / weight;
      load += (is_left(corner) ? -1.0 : 1.0) * across * share;  // left turn loads the right
      frame_.load_n[corner] = std::max(load, 0.0);
    }
  }

  void drive(const Phase& phase) {
    driver_.pedal_kpa =
        toward(driver_.pedal_kpa, phase.pedal_kpa,
               (phase.pedal_kpa < driver_.pedal_kpa ? 60e3 : phase.pedal_rate_kpa_per_s) * dt_);
    driver_.steer = toward(driver_.steer, phase.steer_rad, phase.steer_rate_rad_per_s * dt_);
    double accelerator = phase.accelerator;
    if (!std::isnan(phase.keep_speed_mps))
      accelerator = std::clamp(0.6 * (phase.keep_speed_mps - speed_) + 0.08, 0.0, 0.5);
    if (!std::isnan(phase.keep_speed_mps) && spinning_mps_ > 0.8)
      accelerator = 0.0;  // a careful driver eases off when the wheels spin
    if (phase.pedal_kpa > 0.0) accelerator = 0.0;
    driver_.accelerator = toward(driver_.accelerator, accelerator, 4.0 * dt_);
    // Steers against heading and yaw the driver did not ask for.
    const double wanted = driver_.steer == 0.0
                              ? -(0.9 * heading_ + 0.35 * yaw_rate_) * c_.car.steering_ratio *
                                    c_.manoeuvre.driver_correction
                              : 0.0;
    driver_.correction += (std::clamp(wanted, -4.0, 4.0) - driver_.correction) * dt_ / driver_lag_s;
  }

  void step(const Phase& phase) {
    const Car& car = c_.car;
    drive(phase);
    const double steer_wheel = driver_.steer + driver_.correction;

    SensorInput in;
    in.t_s = t_;
    for (Corner corner : all_corners) in.wheel_mps[corner] = sensed(corner);
    in.pedal = driver_.pedal_kpa > 50.0;
    in.master_kpa = driver_.pedal_kpa;
    in.yaw_rate = yaw_rate_;
    in.lateral_mps2 = frame_.lateral_mps2;
    in.steer_rad = steer_wheel;
    in.accelerator = driver_.accelerator;
    const ControllerOutput& out = controller_.step(in, dt_);
    const double supply_v = 13.6 - 1.1 * hydraulics_.pump_speed();
    hydraulics_.step(out.command, driver_.pedal_kpa, 1.0, dt_);

    road_.move(way_, speed_ * dt_, car.wheelbase_m);
    const double throttle = driver_.accelerator * out.torque_factor;
    move(throttle, steer_wheel / car.steering_ratio);

    frame_.t_s = t_;
    frame_.way_m = way_;
    frame_.speed_mps = speed_;
    frame_.side_mps = side_;
    frame_.yaw_rate = yaw_rate_;
    frame_.steer_rad = steer_wheel;
    frame_.accelerator = driver_.accelerator;
    frame_.throttle = throttle;
    frame_.master_kpa = driver_.pedal_kpa;
    frame_.supply_v = supply_v;
    frame_.reference_mps = out.reference_mps;
    frame_.pedal = in.pedal;
    frame_.pump = out.command.pump;
    frame_.pump_speed = hydraulics_.pump_speed();
    frame_.lamp = out.lamp;
    frame_.antilock = out.antilock_active;
    frame_.stability = out.stability_active;
    frame_.traction = out.traction_active;
    frame_.isolation = out.command.isolation;
    frame_.prime = out.command.prime;
    for (int i = 0; i < 2; ++i)
      frame_.accumulator_cm3[static_cast<std::size_t>(i)] = hydraulics_.accumulator_cm3(i);
    frame_.inlet = out.command.inlet;
    frame_.outlet = out.command.outlet;
    frame_.cause = out.cause;
    frame_.sensed_mps = in.wheel_mps;
    for (Corner corner : all_corners) {
      frame_.wheel_mps[corner] = spin_[corner] * radius(corner);
      frame_.pressure_kpa[corner] = hydraulics_.pressure_kpa(corner);
      frame_.clamp_kpa[corner] = hydraulics_.clamp_kpa(corner);
    }
    t_ += dt_;
  }

  /// What the sensor of that wheel reports (speed by the nominal radius).
  double sensed(Corner corner) {
    const double v = spin_[corner] * c_.car.rolling_radius_m;
    return v < 0.4 ? 0.0 : v * (1.0 + 0.002 * random_.normal(0.0, 1.0));
  }

  [[nodiscard]] bool driven(Corner corner) const {
    return c_.car.drive == Drive::all || (c_.car.drive == Drive::front) == is_front(corner);
  }

  void move(double throttle, double steer) {
    const Car& car = c_.car;
    const int driven_wheels = car.drive == Drive::all ? 4 : 2;
    double driven_mps = 0.0;
    for (Corner corner : all_corners)
      if (driven(corner)) driven_mps += spin_[corner] * radius(corner) / driven_wheels;
    spinning_mps_ = driven_mps - speed_;
    const double full_nm =
        std::min(car.wheel_torque_max_nm,
                 car.engine_power_w * car.rolling_radius_m / std::max(driven_mps, 1.0));
    const double wheel_nm = throttle * full_nm / driven_wheels;

    double force_x = 0.0, force_y = 0.0, moment = 0.0;
    for (Corner corner : all_corners) {
      const bool front = is_front(corner);
      const double x = front ? car.cg_to_front_m : car.cg_to_front_m - car.wheelbase_m;
      const double y = (is_left(corner) ? 0.5 : -0.5) * car.track_m;
      const double vx = speed_ - yaw_rate_ * y;
      const double vy = side_ + yaw_rate_ * x;
      const double angle = front ? steer : 0.0;
      const double cs = std::cos(angle), sn = std::sin(angle);
      const double r = radius(corner);
      const double load = frame_.load_n[corner];
      const TyreForce tyre = tyre_force(
          road_.at(corner), load, cs * vx + sn * vy, cs * vy - sn * vx, spin_[corner] * r,
          front ? car.front_lateral_stiffness : car.rear_lateral_stiffness);

      double drive_nm = 0.0;
      if (driven(corner)) {
        drive_nm = wheel_nm;
        const Corner other = axle_partner(corner);
        drive_nm += car.limited_slip_nm_per_mps * (spin_[other] - spin_[corner]) * r;
      }
      const double brake_nm =
          (front ? car.front_brake_nm_per_kpa : car.rear_brake_nm_per_kpa) *
          std::max(hydraulics_.clamp_kpa(corner) - car.brake_threshold_kpa, 0.0);
      spin_wheel(corner, tyre, drive_nm, brake_nm, r);
      frame_.slip[corner] = tyre.slip;

      const double fx = -tyre.braking_n - (speed_ > 0.1 ? car.rolling_resistance * load : 0.0);
      const double body_x = cs * fx - sn * tyre.lateral_n;
      const double body_y = sn * fx + cs * tyre.lateral_n;
      force_x += body_x;
      force_y += body_y;
      moment += x * body_y - y * body_x;
    }
    force_x -= 0.5 * air_kgpm3 * car.drag_area_m2 * speed_ * speed_;
    force_x -= car.mass_kg * gravity_mps2 * c_.manoeuvre.slope;
    const double accel = force_x / car.mass_kg;
    const double lateral = force_y / car.mass_kg;

    const double next = speed_ + (accel + yaw_rate_ * side_) * dt_;
    const bool held = driver_.pedal_kpa > 0.0 && (next < standing_mps || speed_ == 0.0);
    if (next <= 0.0 || held) {
      frame_.accel_mps2 = 0.0;
      speed_ = side_ = yaw_rate_ = 0.0;
      if (held) spin_ = {};
    } else {
      side_ += (lateral - yaw_rate_ * speed_) * dt_;
      yaw_rate_ += moment / car.yaw_inertia_kgm2 * dt_;
      speed_ = next;
      frame_.accel_mps2 = accel;
    }
    heading_ += yaw_rate_ * dt_;
    way_ += speed_ * dt_;
    frame_.lateral_mps2 = speed_ > 0.0 ? lateral : 0.0;
    load_accel_ += (frame_.accel_mps2 - load_accel_) * dt_ / load_lag_s;
    load_lateral_ += (frame_.lateral_mps2 - load_lateral_) * dt_ / load_lag_s;
    update_loads();
  }

  /// One linearly implicit step of the wheel's spin: the tyre is far stiffer than the step at low
  /// speed. A brake can stop a wheel but not turn it backwards.
  void spin_wheel(Corner corner, const TyreForce& tyre, double drive_nm, double brake_nm,
                  double r) {
    double& spin = spin_[corner];
    const double inertia = c_.car.wheel_inertia_kgm2;
    const double base = std::max({speed_, spin * r, 0.3});
    const double stiffness = std::max(tyre.braking_slope_n, 0.0) * r * r / base;
    const double free_nm = r * tyre.braking_n + drive_nm;
    const double resist = brake_nm * (spin > 0.0 ? 1.0 : 0.0);
    const double gain = dt_ / (inertia + dt_ * stiffness);
    if (spin <= 0.0 && free_nm <= brake_nm) {
      spin = 0.0;
      return;
    }
    spin = std::max(spin + gain * (free_nm - (spin > 0.0 ? resist : brake_nm)), 0.0);
  }

  const Case& c_;
  Random random_;
  Road road_;
  Hydraulics hydraulics_;
  Controller controller_;
  double dt_;
  Frame frame_;
  Driver driver_;
  double t_ = 0.0, way_ = 0.0, speed_ = 0.0, side_ = 0.0, yaw_rate_ = 0.0, heading_ = 0.0;
  double load_accel_ = 0.0, load_lateral_ = 0.0, spinning_mps_ = 0.0;
  PerCorner<double> spin_;
};

}  // namespace

Run simulate(const Case& c, std::uint64_t seed) { return Simulation(c, seed).run(); }

}  // namespace stopledger::model
