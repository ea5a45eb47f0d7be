// The smoother against scipy's sparse solver; smooth_values.txt and how it was made (.py) stand
// beside this file (SC-32 in tests/SOURCES.md).
#include "signal/smooth.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

using namespace stopledger;

namespace {

std::vector<double> row_of(std::istream& in) {
  std::string line;
  std::getline(in, line);
  std::istringstream words(line);
  std::vector<double> values;
  for (double value = 0.0; words >> value;) values.push_back(value);
  return values;
}

}  // namespace

TEST_CASE("smooth curves agree with scipy's sparse solver", "[outside][smooth][SC-32]") {
  std::ifstream in(STOPLEDGER_SOURCE_DIR "/tests/outside/smooth_values.txt");
  std::string name;
  std::getline(in, name);  // where it comes from
  int cases = 0;
  while (std::getline(in, name)) {
    const auto value = row_of(in), weight = row_of(in), penalty = row_of(in), expected = row_of(in);
    INFO(name);
    REQUIRE(value.size() == expected.size());
    REQUIRE(weight.size() == expected.size());
    REQUIRE(penalty.size() == expected.size());
    const auto z = whittaker_smooth(value, weight, penalty);
    // Condition numbers here reach 1e5, and gaps get a weight of 1e-12.
    for (std::size_t i = 0; i < z.size(); ++i) CHECK(z[i] == Approx(expected[i]).margin(1e-8));
    ++cases;
  }
  CHECK(cases == 7);
}
