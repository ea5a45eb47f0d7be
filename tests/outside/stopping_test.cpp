// Slip, deceleration and braking rate against worked numbers of UN R13-H and its sister texts.
#include <catch2/catch.hpp>

#include "base/quantity.h"
#include "outside/antilock_annex.h"
#include "signal/slip.h"
#include "signal/stopping.h"

using namespace stopledger;

TEST_CASE("MFDD by the regulation's formula", "[outside][stopping][ST-06][ST-07][ST-08]") {
  // Worked with 25.92 = 2 * 3.6^2; the figures carry three places.
  const auto dm = [](double v0, double sb, double se) {
    return mean_fully_developed_deceleration(0.8 * v0, 0.1 * v0, Metres(sb), Metres(se)).value();
  };
  CHECK(dm(100.0, 17.361, 47.743) == Approx(8.000).margin(0.001));
  CHECK(dm(100.0, 22.4, 55.9) == Approx(7.255).margin(0.001));
  CHECK(dm(50.0, 8.1, 18.2) == Approx(6.016).margin(0.001));
}

TEST_CASE("a stop at constant deceleration is measured as such", "[outside][stopping][ST-06]") {
  std::vector<double> t, v;
  for (int i = 0; i <= 400; ++i) {
    t.push_back(0.01 * i);
    v.push_back(std::max(0.0, 100.0 / 3.6 - 8.0 * t.back()));
  }
  const StopMeasure stop = measure_stop(t, v);
  REQUIRE(stop.mfdd);
  CHECK(stop.mfdd->value() == Approx(8.0).epsilon(1e-6));
  CHECK(stop.distance.value() == Approx(100.0 * 100.0 / (25.92 * 8.0)).epsilon(1e-3));
}

TEST_CASE("braking rates of the anti-lock annex", "[outside][stopping][AB-30][AB-31]") {
  // 0.566 / 0.70 and 0.849 / 1.20, the constants carry three places.
  CHECK(braking_rate_from_time(20.0, Seconds(0.70)) == Approx(0.809).margin(0.001));
  CHECK(braking_rate_from_time(30.0, Seconds(1.20)) == Approx(0.7075).margin(0.001));
}

TEST_CASE("adhesion utilisation as the annex works it out", "[outside][stopping][AB-32][AB-33]") {
  // Front drive, 1500 kg, 8829 N in front, h 0.55 m, E 2.60 m; one axle braked at a time.
  const test::AnnexLoads loads{14715.0, 8829.0, 0.55 / 2.60};
  const double zf = braking_rate_from_time(20.0, Seconds(0.93)),
               zr = braking_rate_from_time(20.0, Seconds(2.00));
  CHECK(zf == Approx(0.6086).margin(0.0005));  // the annex's 0.566 carries three places
  CHECK(zr == Approx(0.2830).margin(0.0005));
  const double kf = loads.front_adhesion(zf, 0.010), kr = loads.rear_adhesion(zr, 0.015);
  CHECK(kf == Approx(0.830).margin(0.001));
  CHECK(kr == Approx(0.806).margin(0.001));
  const double zal = braking_rate_from_time(30.0, Seconds(1.07));
  CHECK(zal == Approx(0.7935).margin(0.0006));
  CHECK(loads.front_dynamic_n(zal) == Approx(11298.9).margin(2.0));  // 0.0005 of z is 1.6 N
  CHECK(loads.rear_dynamic_n(zal) == Approx(3416.1).margin(2.0));
  CHECK(loads.mean_adhesion(zal, kf, kr) == Approx(0.824).margin(0.001));
  CHECK(zal / loads.mean_adhesion(zal, kf, kr) == Approx(0.96).margin(0.005));
}

TEST_CASE("braking rate that the annex asks for on split ground",
          "[outside][stopping][AB-34][AB-35]") {
  CHECK(test::split_rate_least(0.8, 0.3) == Approx(0.300).margin(1e-9));
  CHECK(test::split_rate_least(0.8, 0.2) == Approx(0.240).margin(1e-9));
  CHECK(test::split_rate_least(0.8, 0.4) == Approx(0.400).margin(1e-9));  // kL itself binds
}

TEST_CASE("slip of a braked wheel", "[outside][slip][VD-14]") {
  const std::vector<double> ref{15.0, 20.0, 10.0, 1.0}, wheel{12.75, 20.0, 0.0, 0.5};
  const auto slip = longitudinal_slip(ref, wheel, MetresPerSecond(2.0));
  CHECK(slip[0] == Approx(0.15).margin(1e-12));
  CHECK(slip[1] == Approx(0.0).margin(1e-12));
  CHECK(slip[2] == Approx(1.0).margin(1e-12));  // locked
  CHECK(std::isnan(slip[3]));                   // below the floor
}
