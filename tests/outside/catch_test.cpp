// The chance to catch pulses against pulses thrown by an independent script; catch_values.txt and
// how it was made (.py) stand beside this file (SC-33 in tests/SOURCES.md).
#include "signal/catch.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <string>

using namespace stopledger;

TEST_CASE("catch probabilities agree with pulses thrown elsewhere", "[outside][catch][SC-33]") {
  std::ifstream in(STOPLEDGER_SOURCE_DIR "/tests/outside/catch_values.txt");
  std::string origin;
  std::getline(in, origin);
  int cases = 0;
  PulsePrior prior;
  double interval_s = 0.0, active_s = 0.0, share = 0.0, error = 0.0;
  int needed = 0;
  while (in >> prior.length_median_s >> prior.length_spread_ln >> prior.length_doubt_ln >>
         prior.rate_median_hz >> prior.rate_doubt_ln >> interval_s >> active_s >> needed >> share >>
         error) {
    INFO("case " << cases + 1);
    // Four standard errors of the script's own share: one such test in 2,000 fails by chance.
    CHECK(catch_probability(prior, interval_s, active_s, needed) ==
          Approx(share).margin(4.0 * error));
    ++cases;
  }
  CHECK(cases == 7);
}
