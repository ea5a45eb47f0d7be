#include "model/body.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "model/simulate.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

/// Way to standstill at a steady clamp force, and where the energy went.
struct Halt {
  double way_m = 0.0, kinetic_start_j = 0.0, kinetic_end_j = 0.0;
  EnergyLedger energy;
};

Halt halt(double clamp_kpa, double steer_rad, double dt_s) {
  const Car car;
  Body body(car, 15.0);
  BodyInput in;
  in.steer_rad = steer_rad;
  in.held = true;
  Halt out;
  out.kinetic_start_j = body.kinetic_j();
  for (Corner corner : all_corners) {
    in.road[corner] = tyre_curve(Surface::wet_asphalt);
    in.clamp_kpa[corner] = clamp_kpa;
  }
  for (double t = 0.0; t < 12.0 && !body.standing(); t += dt_s) body.step(in, dt_s);
  out.way_m = body.way_m();
  out.kinetic_end_j = body.kinetic_j();
  out.energy = body.energy();
  return out;
}

}  // namespace

TEST_CASE("halving the step halves the error of a stop", "[model][convergence]") {
  for (double kpa : {2500.0, 9000.0}) {  // without lock, and with all wheels locked
    const double fine = halt(kpa, 0.0, 0.0000625).way_m;
    const double coarse = std::abs(halt(kpa, 0.0, 0.001).way_m - fine);
    const double half = std::abs(halt(kpa, 0.0, 0.0005).way_m - fine);
    INFO(kpa << " kPa: " << coarse << " " << half << " of " << fine);
    CHECK(coarse < 0.005 * fine);
    CHECK(half < 0.65 * coarse + 1e-4);
  }
}

TEST_CASE("energy is kept: what the car had went to brakes, tyres, air and road",
          "[model][energy]") {
  for (double steer : {0.0, 0.03})
    for (double kpa : {1500.0, 2500.0, 9000.0}) {
      const Halt h = halt(kpa, steer, 0.001);
      const double spent = h.energy.brakes + h.energy.tyres + h.energy.resistance;
      INFO(kpa << " kPa, steer " << steer);
      CHECK(spent == Approx(h.kinetic_start_j - h.kinetic_end_j).epsilon(0.015));
    }
}

TEST_CASE("a controlled stop keeps its length and its energy at half the step",
          "[model][convergence][energy]") {
  Case c;
  c.texture = 0.0;
  c.manoeuvre = straight_stop(15.0, 0.2, 10e3, 0.1);
  const Run coarse = simulate(c, 1);
  c.step_s = 0.0005;
  const Run fine = simulate(c, 1);
  // The control cycles fall out differently, their mean does not.
  CHECK(coarse.frames.back().way_m == Approx(fine.frames.back().way_m).epsilon(0.03));
  const double start = Body(c.car, 15.0).kinetic_j();
  const double spent = coarse.energy.brakes + coarse.energy.tyres + coarse.energy.resistance;
  CHECK(spent == Approx(start + coarse.energy.engine - coarse.kinetic_end_j).epsilon(0.02));
}
