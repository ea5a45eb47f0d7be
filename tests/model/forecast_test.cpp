#include "model/forecast.h"

#include <catch2/catch.hpp>

using namespace stopledger;
using namespace stopledger::model;

TEST_CASE("a forecast repeats by its seed and keeps the facts it is given", "[model][forecast]") {
  CarFacts facts;
  facts.channels = 3;
  const auto a = forecast_stop(facts, Surface::wet_asphalt, 40.0, 8, 5);
  const auto b = forecast_stop(facts, Surface::wet_asphalt, 40.0, 8, 5);
  REQUIRE(a.draws.size() == 8);
  CHECK(a.distance_m(0.5) == b.distance_m(0.5));
  // Three channels: one rear pair serves both corners.
  for (const StopDraw& d : a.draws) CHECK(d.releases[Corner::rl] == d.releases[Corner::rr]);
}

TEST_CASE("a slippery surface gives longer stops with more releases", "[model][forecast]") {
  const auto wet = forecast_stop({}, Surface::wet_asphalt, 40.0, 12, 1);
  const auto snow = forecast_stop({}, Surface::snow, 40.0, 12, 1);
  CHECK(snow.duration_s(0.5) > 1.5 * wet.duration_s(0.5));
  CHECK(snow.distance_m(0.5) > 1.5 * wet.distance_m(0.5));
  CHECK(snow.releases(Corner::fl, 0.5) > wet.releases(Corner::fl, 0.5));
  CHECK(wet.pulse_s(Corner::fl, 0.5) > 0.003);
  CHECK(wet.pulse_s(Corner::fl, 0.95) >= wet.pulse_s(Corner::fl, 0.5));
}
