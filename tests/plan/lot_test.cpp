#include "plan/lot.h"

#include <catch2/catch.hpp>

#include "plan/ground.h"

using namespace stopledger;

TEST_CASE("the fastest speed of a lot is the speed whose run is as long as the lot",
          "[plan][lot]") {
  for (const double slope : {-0.02, 0.0, 0.02})
    for (const Ground& ground : grounds()) {
      const LotCase lot{.mu = ground.mu_low, .slope = slope};
      if (parking_deceleration(lot) <= 0.0) {
        CHECK_FALSE(lot_need(lot, from_kmh(20.0)));
        CHECK(entry_speed(lot, Metres(1000.0), {}).value() == 0.0);
        continue;
      }
      for (const double length : {40.0, 90.0, 150.0, 400.0}) {
        const auto speed = entry_speed(lot, Metres(length), {});
        const auto need = lot_need(lot, speed);
        REQUIRE(need);
        CHECK(need->length_m() == Approx(length).epsilon(1e-9));
        // A narrow lot binds instead: the run at that speed is as wide as the lot.
        const double width = 0.5 * (need->width_m + 4.9);
        const auto narrow = entry_speed(lot, Metres(length), Metres(width));
        CHECK(narrow < speed);
        CHECK(lot_need(lot, narrow)->width_m == Approx(width).epsilon(1e-9));
      }
    }
}

TEST_CASE("worse ground, downhill and a lazy car need more room", "[plan][lot]") {
  const auto length = [](const LotCase& lot) { return lot_need(lot, from_kmh(40.0))->length_m(); };
  const double level = length({.mu = 0.3});
  CHECK(length({.mu = 0.2}) > level);
  CHECK(length({.mu = 0.3, .slope = -0.01}) > level);
  CHECK(length({.mu = 0.3, .slope = 0.01}) < level);
  CHECK(length({.mu = 0.3, .pull_away_mps2 = 1.0}) > level);
  // On slippery ground the parking brake holds less than its least: the run-off grows too.
  CHECK(lot_need({.mu = 0.15}, from_kmh(20.0))->run_off_m >
        lot_need({.mu = 0.40}, from_kmh(20.0))->run_off_m);
}

TEST_CASE("a car that is longer than the lot is wide fits at no speed", "[plan][lot]") {
  CHECK(entry_speed({}, Metres(200.0), Metres(4.0)).value() == 0.0);
}
