// What a log shows outside the braking that was judged must not be denied.

#include <algorithm>
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

TEST_CASE("a switch that closes when a short slowing is over breaks nothing", "[verify][episode]") {
  for (const double steep : {12.0, 18.0, 30.0, 36.0, 60.0, 100.0})
    for (double down_s = 3.9; down_s < 4.7; down_s += 0.02) {
      std::string text = "Time (s),FL wheel speed (km/h),FR wheel speed (km/h),Brake switch\n";
      for (int i = 0; i <= 1000; ++i) {
        const double t = 0.01 * i;
        // 6.8 km/h lost within a moment, the switch half a second after the slowing began.
        const double v = 50.0 - steep * std::clamp(t - 4.0, 0.0, 6.8 / steep);
        text += std::to_string(t) + "," + std::to_string(v) + "," + std::to_string(v) +
                (t >= down_s && t < down_s + 0.5 ? ",1\n" : ",0\n");
      }
      const Log log = read_log_text(text, "short.csv", {});
      const CheckOutcome outcome = check_logs(std::span(&log, 1), {}, nullptr);
      for (const Episode& episode : outcome.episodes)
        CHECK(episode.distance_m.value_or(5.0) < 20.0);
    }
}
