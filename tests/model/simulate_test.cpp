#include "model/simulate.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "model/recorder.h"
#include "model/scenario.h"
#include "model/truth.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

Case stop_on(Surface surface, double kmh) {
  Case c;
  const Grip grip{surface, surface == Surface::ice ? 2.0 : 1.0,
                  surface == Surface::dry_asphalt ? 0.5 : 1.0};
  c.ground = {{grip, grip}};
  c.manoeuvre = straight_stop(kmh / 3.6, 1.0, 11e3, 0.5);
  return c;
}

int releases(const Truth& truth, Corner corner, bool only_moved) {
  const auto& all = truth.corners[corner].releases;
  return static_cast<int>(std::count_if(all.begin(), all.end(), [only_moved](const Release& r) {
    return r.cause == Cause::antilock && (!only_moved || (r.fell && r.came_back));
  }));
}

}  // namespace

TEST_CASE("the same case and seed give the same frames", "[model]") {
  const Case c = stop_on(Surface::wet_asphalt, 40.0);
  const Run a = simulate(c, 7), b = simulate(c, 7), other = simulate(c, 8);
  REQUIRE(a.frames.size() == b.frames.size());
  for (std::size_t i = 0; i < a.frames.size(); ++i) {
    REQUIRE(a.frames[i].way_m == b.frames[i].way_m);
    REQUIRE(a.frames[i].pressure_kpa == b.frames[i].pressure_kpa);
  }
  CHECK(a.frames.back().way_m != other.frames.back().way_m);
}

TEST_CASE("with the control off the braked wheels lock", "[model]") {
  for (Surface surface : {Surface::dry_asphalt, Surface::wet_asphalt, Surface::snow}) {
    Case c = stop_on(surface, 50.0);
    c.faults = {{FaultKind::control_off}};
    const Truth truth = find_truth(simulate(c, 1), c);
    for (Corner corner : all_corners) {
      CHECK(truth.corners[corner].peak_slip == Approx(1.0).margin(1e-6));
      CHECK(truth.corners[corner].releases.empty());
    }
  }
}

TEST_CASE("a healthy car releases and rebuilds every wheel on every surface", "[model]") {
  for (Surface surface :
       {Surface::dry_asphalt, Surface::wet_asphalt, Surface::gravel, Surface::snow, Surface::ice})
    for (const ControllerDesign& design : controller_designs()) {
      Case c = stop_on(surface, 40.0);
      c.controller = design;
      const Truth truth = find_truth(simulate(c, 1), c);
      INFO(surface_name(surface) << " " << design.name);
      CHECK(releases(truth, Corner::fl, true) >= 2);
      CHECK(releases(truth, Corner::fr, true) >= 2);
      CHECK(releases(truth, Corner::rl, true) >= 1);
      CHECK(releases(truth, Corner::rr, true) >= 1);
      // Brief lock is allowed, no more (UN R13-H Annex 6, 5.3.6).
      // Coarse designs overshoot on slippery ground.
      const double most_s = design.rebuild == RebuildStyle::coarse ? 0.9 : 0.3;
      for (Corner corner : all_corners) CHECK(truth.corners[corner].locked_s < most_s);
    }
}

TEST_CASE("an outlet that does not open never lets pressure fall", "[model][fault]") {
  for (Surface surface : {Surface::wet_asphalt, Surface::snow}) {
    Case c = stop_on(surface, 40.0);
    c.faults = {{FaultKind::outlet_stuck_closed, 1.0, Corner::fr}};
    const Truth truth = find_truth(simulate(c, 1), c);
    CHECK(releases(truth, Corner::fr, false) >= 1);
    CHECK(releases(truth, Corner::fr, true) == 0);
    CHECK(truth.corners[Corner::fr].locked_s > 0.3);
    CHECK(releases(truth, Corner::fl, true) >= 3);
  }
}

TEST_CASE("with a dead pump the releases die out", "[model][fault]") {
  Case c = stop_on(Surface::wet_asphalt, 60.0);
  c.faults = {{FaultKind::pump_dead}};
  const Run run = simulate(c, 1);
  const Truth truth = find_truth(run, c);
  const auto& all = truth.corners[Corner::fl].releases;
  REQUIRE(all.size() >= 3);
  CHECK(all.front().fell);
  CHECK_FALSE(all.back().fell);
  CHECK(run.frames.back().accumulator_cm3[0] > c.unit.accumulator_cm3);
}

TEST_CASE("an inlet that leaks feeds the wheel while it should hold", "[model][fault]") {
  Case c = stop_on(Surface::snow, 40.0);
  const Truth good = find_truth(simulate(c, 1), c);
  c.faults = {{FaultKind::inlet_stuck_open, 1.0, Corner::fl}};
  const Truth bad = find_truth(simulate(c, 1), c);
  CHECK(bad.corners[Corner::fl].locked_s > good.corners[Corner::fl].locked_s + 1.0);
}

TEST_CASE("an inlet stuck closed keeps its wheel unbraked", "[model][fault]") {
  Case c = stop_on(Surface::wet_asphalt, 40.0);
  c.faults = {{FaultKind::inlet_stuck_closed, 1.0, Corner::rr}};
  const Run run = simulate(c, 1);
  for (const Frame& f : run.frames) REQUIRE(f.pressure_kpa[Corner::rr] < 1.0);
}

TEST_CASE("a corner that is never commanded shows no command", "[model][fault]") {
  Case c = stop_on(Surface::wet_asphalt, 40.0);
  c.faults = {{FaultKind::never_commanded, 1.0, Corner::fl}};
  const Truth truth = find_truth(simulate(c, 1), c);
  CHECK(truth.corners[Corner::fl].releases.empty());
  CHECK(truth.corners[Corner::fl].holds.empty());
  CHECK(releases(truth, Corner::fr, true) >= 3);
}
