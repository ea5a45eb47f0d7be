// Tyre curves and steady cornering of the forward model against published figures.

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "model/body.h"
#include "model/tyre.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

constexpr double degree = std::numbers::pi / 180.0;

/// Steady yaw rate of a car that keeps its speed at a small steering angle, by the planar model.
double steady_yaw(const Car& car, double mps, double steer_rad) {
  Body body(car, mps);
  BodyInput in;
  in.steer_rad = steer_rad;
  // A curve so steep that a small angle stays in its straight part on every wheel.
  for (Corner corner : all_corners) in.road[corner] = tyre_curve(Surface::dry_asphalt);
  for (int i = 0; i < 12000; ++i) {
    in.drive_nm = 2000.0 * (mps - body.speed_mps());
    body.step(in, 0.0005);
  }
  return body.yaw_rate();
}

Car wong_car(double front_n_per_rad) {
  // VD-10: weight 20.105 kN, wheelbase 2.8 m, 53.5 % front; stiffness per tyre.
  Car car;
  car.mass_kg = 20105.0 / 9.81;
  car.wheelbase_m = 2.8;
  car.cg_to_front_m = 2.8 * (1.0 - 0.535);
  car.yaw_inertia_kgm2 = 3000.0;
  car.front_lateral_stiffness = front_n_per_rad / (20105.0 * 0.535 / 2.0);
  car.rear_lateral_stiffness = 38250.0 / (20105.0 * 0.465 / 2.0);
  car.cg_height_m = 0.01;  // the bicycle model has no lateral load transfer
  return car;
}

}  // namespace

TEST_CASE("tyre curves have the published peak and locked friction",
          "[outside][model][FR-20][FR-26]") {
  struct Row {
    Surface surface;
    double peak_slip, peak_mu, locked_mu;
  };
  // FR-20 to FR-25 (Burckhardt's coefficients as restated; last columns worked out from them).
  const Row rows[] = {{Surface::dry_asphalt, 0.1700, 1.1700, 0.7601},
                      {Surface::wet_asphalt, 0.1308, 0.8013, 0.5100},
                      {Surface::dry_concrete, 0.1600, 1.0900, 0.6600},
                      {Surface::dry_cobble, 0.4000, 1.0000, 0.7000},
                      {Surface::wet_cobble, 0.1400, 0.3800, 0.2800},
                      {Surface::snow, 0.0600, 0.1900, 0.1300}};
  for (const Row& row : rows) {
    const TyreCurve curve = tyre_curve(row.surface);
    INFO(surface_name(row.surface));
    CHECK(curve.peak_slip() == Approx(row.peak_slip).margin(0.0006));
    CHECK(curve.mu(curve.peak_slip()) == Approx(row.peak_mu).margin(0.0006));
    CHECK(curve.mu(1.0) == Approx(row.locked_mu).margin(0.0006));
  }
  // FR-26: ice has no peak.
  CHECK(tyre_curve(Surface::ice).mu(1.0) == Approx(0.05).margin(1e-6));
  CHECK(tyre_curve(Surface::ice).peak_slip() == 1.0);
}

TEST_CASE("steady cornering follows the bicycle model", "[outside][model][VD-10][VD-12]") {
  // VD-12: 20 m/s, 2 degrees: 0.20227 rad/s with K = 0.01598 rad. The tyre curve bends, so the
  // comparison is made at a tenth of the angle, where both are straight: 0.020227 rad/s.
  const Car understeering = wong_car(38920.0);
  CHECK(steady_yaw(understeering, 20.0, 0.2 * degree) == Approx(0.020227).epsilon(0.02));
  // VD-11: stiffer front tyres oversteer, K = -0.00974 rad: r = v d / (L + K v^2 / g).
  const double gain = 20.0 / (2.8 - 0.00974 * 400.0 / 9.81);
  CHECK(steady_yaw(wong_car(47820.0), 20.0, 0.2 * degree) ==
        Approx(gain * 0.2 * degree).epsilon(0.03));
}

TEST_CASE("the worked small car turns as calculated", "[outside][model][VD-13]") {
  // VD-13: 1008 kg, lf 1.2 m, lr 1.0 m, axle stiffness 117 and 145 kN/rad; 10 m/s, 0.5 g needs
  // 6.218 degrees on R = 20.387 m. A tenth of that angle: a tenth of the yaw rate 10 / 20.387.
  Car car;
  car.mass_kg = 1008.0;
  car.wheelbase_m = 2.2;
  car.cg_to_front_m = 1.2;
  car.cg_height_m = 0.01;
  car.yaw_inertia_kgm2 = 1200.0;
  const double weight = 1008.0 * 9.81;
  car.front_lateral_stiffness = 117000.0 / (weight * 1.0 / 2.2);
  car.rear_lateral_stiffness = 145000.0 / (weight * 1.2 / 2.2);
  CHECK(steady_yaw(car, 10.0, 0.6218 * degree) == Approx(0.1 * 10.0 / 20.387).epsilon(0.02));
}
