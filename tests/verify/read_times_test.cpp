// Recorders that ask one wheel after the other and write one time for all.
#include "verify/read_times.h"

#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "log/read_text.h"
#include "log/recorder.h"
#include "verify/check.h"

using namespace stopledger;
using namespace stopledger_test;

namespace {

/// Eight runs in rows five a second; every wheel is read `step_s` after the one before.
Log read_in_turn(double step_s) {
  std::string text =
      "Time (s),FL wheel speed (km/h),FR wheel speed (km/h),RL wheel speed (km/h),"
      "RR wheel speed (km/h)\n";
  for (int row = 0; row < 1600; ++row) {
    const double t = row / 5.0;
    text += fmt::format("{:.1f}", t);
    for (int wheel = 0; wheel < 4; ++wheel) {
      const double kmh = drive_kmh(t + step_s * wheel);
      // A ripple of its own at every wheel, a tenth of a km/h.
      const double ripple = kmh > 0.0 ? 0.1 * std::sin(7.0 * row + 2.0 * wheel) : 0.0;
      text += fmt::format(",{:.2f}", std::max(0.0, kmh + ripple));
    }
    text += '\n';
  }
  return read(text);
}

const Finding* read_skew_of(const CheckOutcome& outcome) {
  for (const Finding& finding : outcome.findings)
    if (finding.id == "read-skew") return &finding;
  return nullptr;
}

}  // namespace

TEST_CASE("wheels read one after the other are shown so, and a check says it",
          "[verify][check][skew]") {
  const Log log = read_in_turn(0.045);
  const auto times = axle_read_times(log);
  REQUIRE(times.size() == 2);
  for (const AxleReadTimes& axle : times) {
    CHECK(axle.skew.s == Approx(0.045).margin(0.01));
    CHECK(axle.skew.low_s <= 0.045);
    CHECK(axle.skew.high_s >= 0.045);
  }
  const auto outcome = check_logs({&log, 1}, {}, nullptr);
  const Finding* finding = read_skew_of(outcome);
  REQUIRE(finding);
  CHECK(finding->severity == Severity::note);
  CHECK(finding->text.find("FR 0.04") != std::string::npos);
  CHECK(finding->text.find("RR 0.04") != std::string::npos);
}

TEST_CASE("wheels of one moment, or nearly so, are no finding", "[verify][check][skew]") {
  for (const double step_s : {0.0, 0.005}) {
    const Log log = read_in_turn(step_s);
    for (const AxleReadTimes& axle : axle_read_times(log)) {
      INFO("step " << step_s << ": " << axle.skew.low_s << " to " << axle.skew.high_s);
      CHECK(axle.skew.low_s <= step_s);
      CHECK(axle.skew.high_s >= step_s);
    }
    CHECK(read_skew_of(check_logs({&log, 1}, {}, nullptr)) == nullptr);
  }
}
