// Whole stops of the forward model against published test results and an approval procedure.

#include <algorithm>
#include <catch2/catch.hpp>
#include <vector>

#include "base/quantity.h"
#include "model/forecast.h"
#include "model/random.h"
#include "model/scenario.h"
#include "model/simulate.h"
#include "model/truth.h"
#include "outside/antilock_annex.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

/// One stop: length from the pedal, and mean fully developed deceleration (UN R13-H) in g.
struct Stop {
  double metres = 0.0, g = 0.0;
};

Stop stop(const Case& c, std::uint64_t seed) {
  const Truth truth = find_truth(simulate(c, seed), c);
  REQUIRE(truth.events.size() == 1);
  const Event& event = truth.events.front();
  return {event.distance_m, event.mfdd_mps2.value() / gravity_mps2};
}

struct StopPair {
  Stop anti_lock, locked;
};

/// The same drawn car on the same ground, with the control on and off, both from `kmh`.
std::vector<StopPair> pairs(Surface surface, double kmh, int n) {
  Random random(11);
  CarFacts four;
  four.channels = 4;
  four.unit_kind = UnitKind::two_valve;
  std::vector<StopPair> out;
  for (int i = 0; i < n; ++i) {
    Case c;
    c.car = draw_car(random);
    c.unit = draw_unit(random, c.car, four);
    c.controller = draw_controller(random, Split::tuning, c.unit);
    const Grip grip = draw_grip(random, surface);
    c.ground = {{grip, grip}};
    c.manoeuvre = straight_stop(kmh / 3.6, 0.2, 14e3, 0.05);
    StopPair pair;
    pair.anti_lock = stop(c, 1);
    c.faults = {{FaultKind::control_off}};
    pair.locked = stop(c, 1);
    out.push_back(pair);
  }
  return out;
}

/// Time from `high` to `low` km/h; negative when a wheel locked above `low` or it never got there.
double time_between(const Case& c, double high, double low, bool lock_fails,
                    std::uint64_t seed = 1) {
  const Run run = simulate(c, seed);
  double from = -1.0;
  for (const Frame& f : run.frames) {
    const double kmh = f.speed_mps * 3.6;
    if (kmh <= low) return from < 0.0 ? -1.0 : f.t_s - from;
    if (!f.pedal) continue;
    if (kmh <= high && from < 0.0) from = f.t_s;
    if (!lock_fails) continue;
    for (Corner corner : all_corners)
      if (f.wheel_mps[corner] < 0.3) return -1.0;
  }
  return -1.0;
}

/// Least time 40 to 20 km/h with one axle braked, control off, no lock above 20 km/h (AB-08), over
/// pedal pressures in steps of 2 % around the one that the axle's static load would take.
double least_time(Case c, bool front, double peak_mu) {
  c.faults = {{FaultKind::control_off}};
  const Car& car = c.car;
  const double rear_share = car.cg_to_front_m / car.wheelbase_m;
  const double load_n = car.mass_kg * gravity_mps2 * (front ? 1.0 - rear_share : rear_share);
  const double per_kpa = front ? car.front_brake_nm_per_kpa : car.rear_brake_nm_per_kpa;
  const double guess = 0.5 * peak_mu * load_n * car.rolling_radius_m / per_kpa;
  (front ? c.car.rear_brake_nm_per_kpa : c.car.front_brake_nm_per_kpa) = 0.0;
  double best = 1e9;
  for (double kpa = 0.6 * guess; kpa < 2.0 * guess; kpa *= 1.02) {
    c.manoeuvre = straight_stop(50.0 / 3.6, 0.05, kpa, 0.05);
    c.manoeuvre.phases[1].duration_s = 12.0;
    const double t = time_between(c, 40.0, 20.0, true);
    if (t > 0.0)
      best = std::min(best, t);
    else if (best < 1e8)
      break;
  }
  return best;
}

/// Adhesion utilisation by UN R13-H Annex 6 Appendix 2 (AB-08 to AB-15): the axles' own adhesion
/// is measured once, then each design's stop is set against it.
class Approval {
 public:
  Approval(const Case& c, double peak_mu) {
    const Car& car = c.car;
    loads_.weight_n = car.mass_kg * gravity_mps2;
    loads_.front_n = loads_.weight_n * (1.0 - car.cg_to_front_m / car.wheelbase_m);
    loads_.height_over_base = car.cg_height_m / car.wheelbase_m;
    const double rolling = car.rolling_resistance;  // the model's own, not 0.010 and 0.015
    kf_ = loads_.front_adhesion(0.566 / least_time(c, true, peak_mu), rolling);
    kr_ = loads_.rear_adhesion(0.566 / least_time(c, false, peak_mu), rolling);
  }
  [[nodiscard]] double utilisation(Case c) const {
    c.manoeuvre = straight_stop(55.0 / 3.6, 0.05, 12e3, 0.05);
    double tm = 0.0;
    for (std::uint64_t seed = 1; seed <= 3; ++seed)
      tm += time_between(c, 45.0, 15.0, false, seed) / 3.0;
    const double zal = 0.849 / tm;
    return zal / loads_.mean_adhesion(zal, kf_, kr_);
  }

 private:
  test::AnnexLoads loads_;
  double kf_, kr_;
};

}  // namespace

TEST_CASE("dry asphalt: anti-lock stops sit where skid tests found them",
          "[outside][model][FR-09][FR-11]") {
  double controlled = 0.0, locked = 0.0;
  const auto all = pairs(Surface::dry_asphalt, 60.0, 40);
  for (const StopPair& p : all) {
    controlled += p.anti_lock.g / static_cast<double>(all.size());
    locked += p.locked.g / static_cast<double>(all.size());
  }
  INFO("anti-lock " << controlled << " g, locked " << locked << " g");
  // FR-10: 0.821 +/- 0.067 g; FR-09: 0.76 +/- 0.06 g (one standard deviation between tests).
  CHECK(controlled == Approx(0.821).margin(0.067));
  CHECK(locked == Approx(0.76).margin(0.06));
  // FR-10 and FR-11: 8 and 12 % better with anti-lock. The model's mean lies at the low end; 4 %
  // on either side for few cars (six in FR-11) with a spread of 6 to 8 % from test to test.
  CHECK(controlled / locked > 1.04);
  CHECK(controlled / locked < 1.16);
}

TEST_CASE("loose gravel: anti-lock stops are longer", "[outside][model][CT-60]") {
  double ratio = 0.0;
  const auto all = pairs(Surface::gravel, 60.0, 40);
  for (const StopPair& p : all)
    ratio += p.anti_lock.metres / p.locked.metres / static_cast<double>(all.size());
  INFO("ratio " << ratio);
  // CT-60: 27.2 % longer on average over nine cars; the spread between cars is not published.
  CHECK(ratio > 1.15);
  CHECK(ratio < 1.40);
}

TEST_CASE("cycle rates: several a second on grip, fewer on ice and snow",
          "[outside][model][CT-04][CT-06]") {
  const auto rate = [](Surface surface) {
    return forecast_stop({}, surface, 50.0, 40, 3).cycle_rate_hz(Corner::fl, 0.5);
  };
  const double dry = rate(Surface::dry_asphalt), wet = rate(Surface::wet_asphalt);
  const double snow = rate(Surface::snow), ice = rate(Surface::ice);
  INFO("dry " << dry << " wet " << wet << " snow " << snow << " ice " << ice);
  CHECK(dry > 3.0);  // CT-06: about 4 to 10 on good grip; CT-04: 5 to 12 valve actions
  CHECK(dry < 12.0);
  CHECK(wet > 3.0);
  CHECK(wet < 12.0);
  CHECK(snow > 2.0);  // CT-06: about 2 to 5 on ice or snow
  CHECK(snow < 5.5);
  CHECK(ice > 1.5);
  CHECK(ice < 5.5);
}

TEST_CASE("adhesion utilisation is at least 0.75 on high and low grip",
          "[outside][model][AB-08][AB-15]") {
  // AB-13: on a surface of about 0.8 and on one of 0.3 or less, curves with the published fall.
  for (const Grip& grip : {Grip{Surface::dry_asphalt, 0.684, 1.0},  // peak 0.80
                           Grip{Surface::snow, 1.5, 1.0}}) {        // peak 0.285
    Case c;
    c.ground = {{grip, grip}};
    c.texture = 0.0;
    const TyreCurve curve = tyre_curve(grip.surface).shaped(grip.factor, grip.fall);
    const Approval approval(c, curve.mu(curve.peak_slip()));
    for (const ControllerDesign& design : controller_designs()) {
      c.controller = design;
      const double eps = approval.utilisation(c);
      INFO(surface_name(grip.surface) << " " << design.name << " " << eps);
      CHECK(eps >= 0.75);
      CHECK(eps <= 1.05);  // AB-14 repeats the measurement above 1.00, 10 % tolerance
    }
  }
}
