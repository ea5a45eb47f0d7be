// Sunrise and sunset against PyEphem; the values and how they were made are in sun_values.txt and
// .py beside this file (DL-02 in tests/SOURCES.md).
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <sstream>

#include "plan/daylight.h"

using namespace stopledger;

namespace {

// On a clock: 23:59 and 00:01 are two minutes apart.
double apart_min(double a, double b) { return std::abs(std::remainder(a - b, 1440.0)); }

}  // namespace

TEST_CASE("sunrise and sunset agree with another library", "[outside][plan][DL-02]") {
  std::ifstream in(STOPLEDGER_SOURCE_DIR "/tests/outside/sun_values.txt");
  std::string line;
  std::getline(in, line);  // where it comes from
  int cases = 0, without = 0;
  double worst = 0.0;
  while (std::getline(in, line)) {
    std::istringstream words(line);
    std::string day, rise, set;
    GeoPlace place;
    words >> day >> place.latitude_deg >> place.longitude_deg >> rise >> set;
    INFO(line);
    const Daylight light = sun_times(*parse_day(day), place, 0);
    REQUIRE(light.rise_min.has_value() == (rise != "-"));
    ++cases;
    if (!light.rise_min) {
      ++without;
      continue;
    }
    // Almanacs print whole minutes; where the sun grazes the horizon, as close to the polar circle,
    // a hundredth of a degree is minutes.
    const double margin = std::abs(place.latitude_deg) > 65.0 ? 3.0 : 0.2;
    CHECK(apart_min(*light.rise_min, std::stod(rise)) <= margin);
    CHECK(apart_min(*light.set_min, std::stod(set)) <= margin);
    if (std::abs(place.latitude_deg) < 65.0)
      worst = std::max({worst, apart_min(*light.rise_min, std::stod(rise)),
                        apart_min(*light.set_min, std::stod(set))});
  }
  CHECK(cases == 56);
  CHECK(without == 2);
  CHECK(worst < 0.1);
}
