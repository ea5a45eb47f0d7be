#include "verify/turning.h"

#include <catch2/catch.hpp>

#include "log/reader.h"

using namespace stopledger;

namespace {

/// Rolls at 40 km/h for 4 s; the right wheels are faster by `share` from 2 s on; a yaw rate of
/// `yaw_deg_s` from 2 s on where that is not negative.
Log rolling(double share, double yaw_deg_s) {
  std::string text =
      "Time (s),FL wheel speed (km/h),FR wheel speed (km/h),RL wheel speed (km/h),"
      "RR wheel speed (km/h)";
  if (yaw_deg_s >= 0.0) text += ",Yaw rate (deg/s)";
  text += '\n';
  for (int i = 0; i <= 200; ++i) {
    const double t = 0.02 * i, more = t >= 2.0 ? share : 0.0;
    text += std::to_string(t);
    for (const double part : {-0.5, 0.5, -0.5, 0.5})
      text += "," + std::to_string(40.0 * (1.0 + part * more));
    if (yaw_deg_s >= 0.0) text += "," + std::to_string(t >= 2.0 ? yaw_deg_s : 0.0);
    text += '\n';
  }
  return read_log_text(text, "rolling.csv", {});
}

bool turned_before(const Log& log, double brake_s) {
  return turned(prepare_log(log, 0, {}), brake_s, brake_s + 1.0);
}

}  // namespace

TEST_CASE("a bend before braking shows in the wheels of both sides", "[verify][turning]") {
  CHECK_FALSE(turned_before(rolling(0.0, -1.0), 3.8));
  CHECK_FALSE(turned_before(rolling(0.015, -1.0), 3.8));  // a lane change
  CHECK(turned_before(rolling(0.06, -1.0), 3.8));
}

TEST_CASE("a car that has rolled straight since the bend is not sliding", "[verify][turning]") {
  // A bend from 0.5 to 1.5 s; braking half a second and 2.3 s after it is over.
  Log log = rolling(0.06, -1.0);
  for (Channel& channel : log.channels)
    for (std::size_t i = 0; i < channel.series.size(); ++i)
      if (channel.series.t_s[i] < 0.5 || channel.series.t_s[i] > 1.5)
        channel.series.value[i] = 40.0 / 3.6;
      else
        channel.series.value[i] *=
            channel.role.corner == Corner::fr || channel.role.corner == Corner::rr ? 1.06 : 1.0;
  CHECK(turned_before(log, 2.0));
  CHECK_FALSE(turned_before(log, 3.8));
}

TEST_CASE("where the yaw rate is logged it decides", "[verify][turning]") {
  CHECK(turned_before(rolling(0.0, 30.0), 3.0));
  CHECK_FALSE(turned_before(rolling(0.06, 8.0), 3.0));
}

TEST_CASE("steps of a coarse speed and one spinning wheel are no bend", "[verify][turning]") {
  // Steps of 1 km/h at 20 km/h: the right wheels read one more, 5 % of the speed.
  Log coarse = rolling(0.0, -1.0);
  for (Channel& channel : coarse.channels) {
    channel.quantum = 1.0 / 3.6;
    for (double& v : channel.series.value)
      v = (channel.role.corner == Corner::fr || channel.role.corner == Corner::rr ? 21.0 : 20.0) /
          3.6;
  }
  CHECK_FALSE(turned_before(coarse, 3.0));
  // A driven wheel that runs 20 % ahead while the front ones differ by 3 %.
  Log spinning = rolling(0.0, -1.0);
  for (Channel& channel : spinning.channels)
    for (std::size_t i = 0; i < channel.series.size(); ++i)
      if (channel.series.t_s[i] >= 2.0)
        channel.series.value[i] *= channel.role.corner == Corner::rr   ? 1.2
                                   : channel.role.corner == Corner::fr ? 1.03
                                                                       : 1.0;
  CHECK_FALSE(turned_before(spinning, 3.8));
}
