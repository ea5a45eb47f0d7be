// Read times of two wheels against simulated drives, whose truth is known.
#include "signal/read_skew.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

using namespace stopledger;

namespace {

struct SkewDrive {
  std::vector<double> t_s, first, second;
};

/// Run-ups, cruises and stops of a car that wanders a little, recorded at `rate` by a recorder that
/// reads the second wheel `skew_s` after the first and rounds both to `step` m/s.
SkewDrive skew_drive(unsigned seed, double rate, double skew_s, double noise, double step,
                     int runs = 4) {
  std::mt19937 engine(seed);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> unit(0.0, 1.0);
  constexpr double dt = 0.005;
  std::vector<double> v, yaw;
  double wander = 0.0;
  const auto push = [&](double speed) {
    v.push_back(std::max(0.0, speed));
    wander += dt * (-wander / 2.0) + 0.02 * std::sqrt(dt) * normal(engine);  // rad/s, over seconds
    yaw.push_back(wander);
  };
  for (int run = 0; run < runs; ++run) {
    const double top = 9.0 + 5.0 * unit(engine), a0 = 1.2 + 1.6 * unit(engine);
    for (int i = 0; i < 400; ++i) push(0.0);
    for (double t = 0.0; v.back() < top; t += dt) {
      const double gear = v.back() > 6.0 && v.back() < 6.5 ? 0.1 : 1.0;
      push(v.back() + dt * gear * std::min(1.0, 0.1 + 2.0 * t) * a0 * (1.0 - 0.3 * v.back() / top));
    }
    for (int i = 0; i < 400; ++i) push(top);
    const double slowing = 2.0 + 5.0 * unit(engine);
    while (v.back() > 0.0) push(v.back() - dt * slowing);
  }
  const double scale = 1.0 + 0.004 * normal(engine);
  SkewDrive out;
  const auto at = [&](double t, double side) {
    const double place = t / dt;
    const auto i = std::min(static_cast<std::size_t>(place), v.size() - 2);
    const double share = place - static_cast<double>(i);
    const double speed = v[i] + share * (v[i + 1] - v[i]);
    return speed > 0.0 ? speed + side * 0.72 * yaw[i] : 0.0;
  };
  const auto written = [&](double speed) {
    if (speed <= 0.0) return 0.0;
    const double seen = speed + noise * normal(engine);
    return std::max(0.0, step > 0.0 ? step * std::round(seen / step) : seen);
  };
  for (double t = 0.0; t < dt * static_cast<double>(v.size()) - 1.0; t += 1.0 / rate) {
    out.t_s.push_back(t);
    out.first.push_back(written(at(t, -1.0)));
    out.second.push_back(written(scale * at(t + skew_s, 1.0)));
  }
  return out;
}

std::optional<ReadSkew> skew_of(const SkewDrive& drive) {
  return fit_read_skew(
      skew_windows({drive.t_s, drive.first}, {drive.t_s, drive.second}, 0.0, drive.t_s.back()));
}

}  // namespace

TEST_CASE("the limits of a read skew hold the truth as often as they say", "[signal][skew]") {
  struct Kind {
    double rate, noise, step;
  };
  int held = 0, all = 0;
  double bias = 0.0;
  for (const Kind& kind : {Kind{10.0, 0.03, 0.0}, Kind{10.0, 0.01, 1.0 / 3.6}, Kind{20.0, 0.1, 0.0},
                           Kind{5.0, 0.03, 0.0}, Kind{50.0, 0.03, 0.1 / 3.6}})
    for (unsigned seed = 1; seed <= 60; ++seed) {
      const double skew = 0.9 / kind.rate * (static_cast<double>(seed % 7) / 6.0 - 0.5);
      const auto found = skew_of(skew_drive(seed, kind.rate, skew, kind.noise, kind.step));
      REQUIRE(found);
      ++all;
      held += found->low_s <= skew && skew <= found->high_s ? 1 : 0;
      bias += found->s - skew;
    }
  INFO(held << " of " << all << " held, mean error " << 1e3 * bias / all << " ms");
  // 95 in 100 of 300 is 285; a count below 273 would come by chance once in a thousand (binomial).
  CHECK(held >= 273);
  CHECK(std::abs(bias / all) < 0.002);
}

TEST_CASE("a long drive pins a read skew down to milliseconds", "[signal][skew]") {
  for (unsigned seed = 1; seed <= 5; ++seed) {
    const auto found = skew_of(skew_drive(seed, 20.0, 0.035, 0.02, 0.0, 20));
    REQUIRE(found);
    INFO("seed " << seed << ": " << found->s << " +- " << found->se_s);
    CHECK(found->s == Approx(0.035).margin(0.012));
    CHECK(found->se_s < 0.006);
    CHECK(found->low_s > 0.0);
  }
}

TEST_CASE("looks days apart cost no more than their number", "[signal][skew]") {
  SkewDrive drive;
  for (int i = 0; i < 100; ++i) {
    drive.t_s.push_back(1e10 * i);
    drive.first.push_back(15.0);
  }
  // In steps of a quarter second this would be 4e12 of them.
  const SkewTrace trace{drive.t_s, drive.first};
  CHECK(skew_windows(trace, trace, 0.0, drive.t_s.back()).empty());
}

TEST_CASE("a drive at one speed shows no read skew", "[signal][skew]") {
  SkewDrive drive;
  for (int i = 0; i < 1000; ++i) {
    drive.t_s.push_back(0.1 * i);
    drive.first.push_back(15.0);
    drive.second.push_back(15.1);
  }
  CHECK_FALSE(skew_of(drive));
}
