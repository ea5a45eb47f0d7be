#pragma once

#include "model/case.h"
#include "model/tyre.h"

namespace stopledger::model {

/// What acts on the car during one step.
struct BodyInput {
  double drive_nm = 0.0;   ///< at all driven wheels together, already limited by the engine
  bool clutch = false;     ///< engine's inertia turns with the driven wheels
  double steer_rad = 0.0;  ///< front wheels
  double slope = 0.0;
  bool held = false;  ///< brakes on: the car stays put once it stands
  PerCorner<double> clamp_kpa;
  PerCorner<TyreCurve> road;
};

/// Where the energy has gone so far (J).
struct EnergyLedger {
  double engine = 0.0;                                 ///< put in by the engine
  double brakes = 0.0, tyres = 0.0, resistance = 0.0;  ///< resistance: air, rolling, slope
};

/// Planar car: longitudinal, lateral, yaw; four spinning wheels; load transfer with a lag for
/// pitch and roll. Body forces by explicit steps, each wheel's spin by a linearly implicit one.
class Body {
 public:
  explicit Body(const Car& car, double start_mps);

  void step(const BodyInput& in, double dt_s);

  [[nodiscard]] double speed_mps() const { return speed_; }
  [[nodiscard]] bool standing() const { return speed_ == 0.0 && side_ == 0.0; }
  [[nodiscard]] double side_mps() const { return side_; }
  [[nodiscard]] double yaw_rate() const { return yaw_rate_; }
  [[nodiscard]] double heading_rad() const { return heading_; }
  [[nodiscard]] double way_m() const { return way_; }
  [[nodiscard]] double accel_mps2() const { return accel_; }
  [[nodiscard]] double lateral_mps2() const { return lateral_; }
  [[nodiscard]] const PerCorner<double>& spin() const { return spin_; }
  [[nodiscard]] const PerCorner<double>& load_n() const { return load_; }
  [[nodiscard]] const PerCorner<double>& slip() const { return slip_; }
  [[nodiscard]] const EnergyLedger& energy() const { return energy_; }
  [[nodiscard]] double radius_m(Corner corner) const {
    return car_.rolling_radius_m * car_.tyre_size[corner];
  }
  [[nodiscard]] bool driven(Corner corner) const {
    return car_.drive == Drive::all || (car_.drive == Drive::front) == is_front(corner);
  }
  /// Mean circumferential speed of the driven wheels.
  [[nodiscard]] double driven_mps() const;
  /// Body and wheels (J), without the engine's inertia.
  [[nodiscard]] double kinetic_j() const;

 private:
  void update_loads();
  [[nodiscard]] double slip_base(double rolling_mps) const;
  void spin_wheel(Corner corner, const TyreForce& tyre, double drive_nm, double brake_nm,
                  double inertia, double dt_s);

  Car car_;
  double speed_, side_ = 0.0, yaw_rate_ = 0.0, heading_ = 0.0, way_ = 0.0;
  double accel_ = 0.0, lateral_ = 0.0, load_accel_ = 0.0, load_lateral_ = 0.0;
  PerCorner<double> spin_, load_, slip_;
  EnergyLedger energy_;
};

}  // namespace stopledger::model
