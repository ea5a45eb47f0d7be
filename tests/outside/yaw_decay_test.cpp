// What is left of the yaw rate after steering, against the stability standard's own quantities.
#include "signal/yaw_decay.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <vector>

using namespace stopledger;

namespace {

constexpr double yaw_degree = std::numbers::pi / 180.0;

/// The standard's steering, one cycle of a 0.7 Hz sine with a dwell of 0.5 s between the third and
/// the fourth quarter (EC-09), 100 looks a second; the yaw rate goes along with it to `peak` on
/// the second side and from the end of steering through the two points.
struct SineWithDwell {
  std::vector<double> t_s, steer_rad, yaw_rad_s;
  double end_s = 0.0;

  SineWithDwell(double peak_deg_s, double at_1s_deg_s, double at_1_75s_deg_s) {
    constexpr double start = 1.0, f = 0.7, dwell = 0.5, amplitude = 120.0 * yaw_degree;
    end_s = start + 1.0 / f + dwell;
    for (int i = 0; i <= 600; ++i) {
      const double t = 0.01 * i, in = t - start, three = 0.75 / f;
      double phase = 0.0;
      if (in > 0.0 && t < end_s)
        phase = in < three ? in * f : in < three + dwell ? 0.75 : (in - dwell) * f;
      const double steer = std::sin(2.0 * std::numbers::pi * phase);
      t_s.push_back(t);
      steer_rad.push_back(amplitude * steer);
      double yaw = -peak_deg_s * -steer;
      const double after = t - end_s;
      if (after >= 1.0)
        yaw = -at_1s_deg_s + (at_1s_deg_s - at_1_75s_deg_s) * (after - 1.0) / 0.75;
      else if (after >= 0.0)
        yaw = -at_1s_deg_s * after;
      yaw_rad_s.push_back(yaw * yaw_degree);
    }
  }
  [[nodiscard]] std::optional<YawDecay> decay() const {
    return yaw_decay(t_s, yaw_rad_s, t_s, steer_rad);
  }
};

}  // namespace

TEST_CASE("yaw rate shares of the stability standard's worked figures",
          "[outside][yaw][EC-05][EC-06][EC-20]") {
  // First peak 30 deg/s; 8 deg/s at 1.0 s is 26.7 %, 4 deg/s at 1.75 s is 13.3 %.
  const SineWithDwell passing(30.0, 8.0, 4.0);
  const auto decay = passing.decay();
  REQUIRE(decay);
  CHECK(decay->peak_rad_s == Approx(-30.0 * yaw_degree).epsilon(1e-3));
  // The band that counts as straight (5 of 120 degrees) is entered 1/(2 pi 0.7) 5/120 s early.
  CHECK(decay->steer_end_s == Approx(passing.end_s).margin(0.012));
  CHECK(decay->share_1s.value_or(9.0) == Approx(0.267).margin(0.004));
  CHECK(decay->share_1_75s.value_or(9.0) == Approx(0.133).margin(0.004));
  // 11 deg/s at 1.0 s is 36.7 %.
  CHECK(SineWithDwell(30.0, 11.0, 4.0).decay()->share_1s.value_or(9.0) ==
        Approx(0.367).margin(0.004));
}

TEST_CASE("a share that the log or the driver's hands cut off is not made up", "[signal][yaw]") {
  SineWithDwell run(30.0, 8.0, 4.0);
  const auto keep = static_cast<std::size_t>((run.end_s + 1.3) / 0.01);
  for (auto* values : {&run.t_s, &run.steer_rad, &run.yaw_rad_s}) values->resize(keep);
  REQUIRE(run.decay());
  CHECK(run.decay()->share_1s);
  CHECK_FALSE(run.decay()->share_1_75s);
  // Never straight again: nothing to count from.
  const auto in_dwell = static_cast<std::size_t>(2.3 / 0.01);
  for (auto* values : {&run.t_s, &run.steer_rad, &run.yaw_rad_s}) values->resize(in_dwell);
  CHECK_FALSE(run.decay());
  // No steering at all.
  for (double& angle : run.steer_rad) angle = 0.0;
  CHECK_FALSE(run.decay());
}

TEST_CASE("the first peak counts, not a later one, and noise makes none", "[signal][yaw]") {
  SineWithDwell run(30.0, 8.0, 4.0);
  // Turns harder still after a pause in the dwell: the first peak stays the measure.
  for (std::size_t i = 0; i < run.t_s.size(); ++i) {
    const double into = run.t_s[i] - (1.0 + 0.75 / 0.7);
    if (into > 0.1 && into < 0.2) run.yaw_rad_s[i] = -20.0 * yaw_degree;
    if (into > 0.3 && into < 0.4) run.yaw_rad_s[i] = -40.0 * yaw_degree;
  }
  CHECK(run.decay()->peak_rad_s == Approx(-30.0 * yaw_degree).epsilon(1e-3));
  // Noise of half a degree a second.
  SineWithDwell noisy(30.0, 8.0, 4.0);
  for (std::size_t i = 0; i < noisy.t_s.size(); ++i)
    noisy.yaw_rad_s[i] += (i % 2 == 0 ? 0.5 : -0.5) * yaw_degree;
  CHECK(noisy.decay()->peak_rad_s == Approx(-30.0 * yaw_degree).epsilon(0.03));
}
