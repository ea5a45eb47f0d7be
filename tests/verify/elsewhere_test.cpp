// What a log shows outside the braking that was judged must not be denied.

#include <catch2/catch.hpp>
#include <string>

#include "log/reader.h"
#include "verify/check.h"

using namespace stopledger;

namespace {

/// Rolls at 50 km/h, brakes gently to a stop from 4 s to 9 s, at 100 Hz; the outlet of FL opens
/// three times at `release_s`, each for 40 ms.
std::string gentle_stop(double release_s) {
  std::string text =
      "Time (s),FL wheel speed (km/h),FR wheel speed (km/h),RL wheel speed (km/h),"
      "RR wheel speed (km/h),FL outlet valve,FR outlet valve\n";
  for (int i = 0; i <= 1600; ++i) {
    const double t = 0.01 * i;
    const double v = t < 4.0 ? 50.0 : t < 9.0 ? 50.0 - 10.0 * (t - 4.0) : 0.0;
    const double since = t - release_s;
    const bool open =
        since >= 0.0 && since < 0.9 && since - 0.3 * static_cast<int>(since / 0.3) < 0.04;
    text += std::to_string(t);
    for (int k = 0; k < 4; ++k) text += "," + std::to_string(v);
    text += open ? ",1,0\n" : ",0,0\n";
  }
  return text;
}

CornerOutcome front_left(double release_s) {
  const Log log = read_log_text(gentle_stop(release_s), "stop.csv", {});
  return check_logs(std::span(&log, 1), {}, nullptr).corners[Corner::fl];
}

}  // namespace

TEST_CASE("a corner that released outside the judged braking is not idle", "[verify][idle]") {
  CHECK(front_left(99.0).result == Result::idle);
  CHECK(front_left(1.0).result != Result::idle);
  CHECK(front_left(11.0).result == Result::idle);  // at rest: a self-test, which never counts
}
