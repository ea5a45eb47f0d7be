// The robust slope against scipy's theilslopes; the values and how they were made are in
// theil_sen_values.txt and .py beside this file (SC-21, SC-24, SC-25, SC-30 in tests/SOURCES.md).
#include "signal/theil_sen.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

using namespace stopledger;

namespace {

std::vector<double> numbers(std::istream& in) {
  std::string line;
  std::getline(in, line);
  std::istringstream words(line);
  std::vector<double> values;
  for (double value = 0.0; words >> value;) values.push_back(value);
  return values;
}

}  // namespace

TEST_CASE("slope and limits agree with scipy", "[outside][theil-sen][SC-30]") {
  std::ifstream in(STOPLEDGER_SOURCE_DIR "/tests/outside/theil_sen_values.txt");
  std::string name;
  std::getline(in, name);  // where it comes from
  int cases = 0;
  while (std::getline(in, name)) {
    const auto x = numbers(in), y = numbers(in), expected = numbers(in);
    INFO(name);
    REQUIRE(x.size() == y.size());
    REQUIRE(expected.size() == 3);
    const auto found = theil_sen(x, y);
    REQUIRE(found);
    // The same doubles sorted and picked: only the last digit of a mean of two may differ.
    CHECK(found->slope == Approx(expected[0]).epsilon(1e-14));
    CHECK(found->low == Approx(expected[1]).epsilon(1e-14));
    CHECK(found->high == Approx(expected[2]).epsilon(1e-14));
    ++cases;
  }
  CHECK(cases == 8);
}

TEST_CASE("slopes that were reckoned by hand", "[outside][theil-sen][SC-21][SC-24][SC-25]") {
  const std::vector<double> four{10.0, 15.0, 14.0, 20.0}, six{8.1, 8.0, 7.8, 7.9, 7.5, 7.3};
  const std::vector<double> at{0, 1, 2, 3, 4, 5};
  CHECK(theil_sen(std::span(at).first(4), four)->slope == Approx(2.916667).margin(5e-7));
  CHECK(theil_sen(at, six)->slope == Approx(-0.16).margin(1e-12));
}
