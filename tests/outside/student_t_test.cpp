// Releases judged together against scipy's one-sample t-test (SC-31 in tests/SOURCES.md):
//   scipy.stats.ttest_1samp(d, 0, alternative="greater").pvalue, scipy 1.10.1 of Debian 12;
// four windows are tried, so the chance by noise alone is four times that.
#include <catch2/catch.hpp>
#include <vector>

#include "verify/pooled.h"

using namespace stopledger;

namespace {

PooledAnswer pooled(const std::vector<double>& falls) {
  std::vector<SlipAround> slips;
  for (const double fall : falls) {
    SlipAround one;
    one.before = 0.1 + fall;
    one.after[1] = 0.1;
    slips.push_back(one);
  }
  const auto answer = pool_answers(slips);
  REQUIRE(answer);
  return *answer;
}

}  // namespace

TEST_CASE("falls of slip taken together agree with scipy", "[outside][statistics][SC-31]") {
  CHECK(pooled({0.081, 0.042, 0.065, 0.010, 0.093, 0.055, 0.031}).p ==
        Approx(4 * 0.0012947168067833329).epsilon(1e-9));
  CHECK(pooled({0.02, -0.03, 0.04, 0.01, -0.02, 0.035}).p ==
        Approx(4 * 0.23476906520644478).epsilon(1e-9));
}

TEST_CASE("too few releases have no spread", "[statistics]") {
  CHECK_FALSE(pool_answers(std::vector<SlipAround>(4, SlipAround{0.2, {0.1, 0.1, 0.1}})));
}
