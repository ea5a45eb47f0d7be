// Least squares and block jackknife of a read skew against scipy (SC-34 in tests/SOURCES.md).
#include <catch2/catch.hpp>
#include <fstream>
#include <string>
#include <vector>

#include "signal/read_skew.h"

using namespace stopledger;

TEST_CASE("a read skew and its standard error agree with scipy", "[outside][statistics][SC-34]") {
  std::ifstream file(std::string(STOPLEDGER_SOURCE_DIR) + "/tests/outside/read_skew_values.txt");
  std::size_t n = 0, cases = 0;
  double slope = 0.0, se = 0.0, student = 0.0;
  while (file >> n >> slope >> se >> student) {
    std::vector<SkewWindow> windows(n);
    for (SkewWindow& window : windows)
      file >> window.v_mps >> window.a_mps2 >> window.difference_mps;
    REQUIRE(file);
    const auto found = fit_read_skew(windows);
    REQUIRE(found);
    CHECK(found->s == Approx(slope).epsilon(1e-9));
    CHECK(found->se_s == Approx(1.2 * se).epsilon(1e-9));  // widened, see the header
    CHECK(found->high_s - found->s == Approx(student * found->se_s).epsilon(1e-4));
    ++cases;
  }
  CHECK(cases == 3);
}
