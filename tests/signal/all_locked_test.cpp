#include "signal/all_locked.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <vector>

using namespace stopledger;

namespace {

constexpr double step = 0.02;

/// The fastest wheel of a car that brakes with `decel` from 15 m/s at 2 s; from `lock_s` on it
/// falls to a stand within `fall_s`.
std::vector<double> top(double decel, double lock_s, double fall_s, double end_s = 8.0) {
  std::vector<double> v;
  for (double t = 0.0; t < end_s; t += step) {
    double car = t < 2.0 ? 15.0 : std::max(0.0, 15.0 - decel * (t - 2.0));
    if (t > lock_s) car *= std::max(0.0, 1.0 - (t - lock_s) / fall_s);
    v.push_back(car);
  }
  return v;
}

}  // namespace

TEST_CASE("a car that comes to rest by itself is not taken for locked", "[signal][all-locked]") {
  for (const double decel : {1.0, 4.0, 8.0, 11.0})
    CHECK(find_all_locked(top(decel, 99.0, 1.0, 20.0), step, {}, {}).empty());
  // Sensors that read nothing below 8 km/h.
  std::vector<double> clipped = top(6.0, 99.0, 1.0);
  for (double& v : clipped) v = v < 8.0 / 3.6 ? 0.0 : v;
  CHECK(find_all_locked(clipped, step, {}, {}).empty());
}

TEST_CASE("a locked car goes on as it slowed before", "[signal][all-locked]") {
  const auto found = find_all_locked(top(5.0, 3.0, 0.2), step, {}, {});
  REQUIRE(found.size() == 1);
  CHECK_FALSE(found[0].measured);
  CHECK_FALSE(found[0].signal);
  // 10 m/s at 3 s, at rest at 5 s.
  CHECK(step * static_cast<double>(found[0].to) == Approx(5.0).margin(0.15));
  for (std::size_t i = 0; i < found[0].v_mps.size(); ++i) {
    const double t = step * static_cast<double>(found[0].from + i);
    CHECK(found[0].v_mps[i] == Approx(15.0 - 5.0 * (t - 2.0)).margin(0.4));
  }
}

TEST_CASE("the accelerometer says how a locked car goes on", "[signal][all-locked]") {
  // Grip falls to half when the wheels lock; the instrument has an offset and reads 10 % high.
  const auto wheels = top(6.0, 3.0, 0.2);
  std::vector<double> accel;
  for (std::size_t i = 0; i < wheels.size(); ++i) {
    const double t = step * static_cast<double>(i);
    const double a = t < 2.0 ? 0.0 : t < 3.05 ? -6.0 : t < 3.05 + 8.7 / 3.0 ? -3.0 : 0.0;
    accel.push_back(0.4 + 1.1 * a);
  }
  const auto found = find_all_locked(wheels, step, accel, {});
  REQUIRE(found.size() == 1);
  CHECK(found[0].measured);
  CHECK(step * static_cast<double>(found[0].to) == Approx(5.95).margin(0.4));
  // An instrument of another axis or sign is not believed.
  for (double& a : accel) a = -a;
  const auto other = find_all_locked(wheels, step, accel, {});
  REQUIRE(other.size() == 1);
  CHECK_FALSE(other[0].measured);
}

TEST_CASE("signals that end within a sample are no lock", "[signal][all-locked]") {
  const auto found = find_all_locked(top(5.0, 3.0, 0.001), step, {}, {});
  REQUIRE(found.size() == 1);
  CHECK(found[0].signal);
  CHECK(found[0].v_mps.empty());
}

TEST_CASE("control that sets in anew proves a moving car", "[signal][all-locked]") {
  // The wheels sink no faster than a car could slow: only the control tells.
  const auto wheels = top(2.0, 2.5, 2.0);
  CHECK(find_all_locked(wheels, step, {}, {}).empty());
  std::vector<std::size_t> control;
  for (double t = 2.2; t < 7.0; t += 0.3) control.push_back(static_cast<std::size_t>(t / step));
  const auto found = find_all_locked(wheels, step, {}, control);
  REQUIRE(found.size() == 1);
  CHECK(step * static_cast<double>(found[0].to) > 7.0);
  // After a pause it is the self-test of the next start, and proves nothing.
  std::erase_if(control, [](std::size_t k) { return k > 150 && k < 300; });  // 3 to 6 s
  CHECK(find_all_locked(wheels, step, {}, control).empty());
}

TEST_CASE("a wheel that is let go tells how far the car has slowed", "[signal][all-locked]") {
  // Braking sets in at 2 s and all wheels lock a tenth of a second later: the slope before says
  // next to nothing. From 3 s on they roll again.
  std::vector<double> wheels;
  const auto car = [](double t) { return t < 2.0 ? 15.0 : std::max(0.0, 15.0 - 4.0 * (t - 2.0)); };
  for (double t = 0.0; t < 8.0; t += step) {
    double share = 1.0;
    if (t > 2.1) share = std::max(0.0, 1.0 - (t - 2.1) / 0.1);
    if (t > 2.9) share = std::min(0.97, (t - 2.9) / 0.15);
    wheels.push_back(car(t) * share);
  }
  const auto found = find_all_locked(wheels, step, {}, {});
  REQUIRE(found.size() == 1);
  CHECK(found[0].measured);
  for (std::size_t i = 0; i < found[0].v_mps.size(); ++i) {
    const double t = step * static_cast<double>(found[0].from + i);
    CHECK(found[0].v_mps[i] == Approx(car(t)).margin(0.5));
  }
}

TEST_CASE("a car that pulls away had come to rest before", "[signal][all-locked]") {
  // Locked at once from rolling, at rest, and pulling away at 2 m/s2 from 7 s on.
  std::vector<double> wheels;
  for (double t = 0.0; t < 12.0; t += step) {
    double v = t < 2.0 ? 12.0 : std::max(0.0, 12.0 * (1.0 - (t - 2.0) / 0.15));
    if (t > 7.0) v = 2.0 * (t - 7.0);
    wheels.push_back(v);
  }
  const auto found = find_all_locked(wheels, step, {}, {});
  REQUIRE(found.size() == 1);
  CHECK_FALSE(found[0].measured);
  CHECK(step * static_cast<double>(found[0].to) < 7.4);
}

TEST_CASE("a lock within one close look is a lock", "[signal][locked]") {
  // 40 looks a second; 28 km/h, braked at 4 m/s2 for half a second, then every wheel stands at the
  // next look.
  std::vector<double> top;
  for (int i = 0; i < 240; ++i) {
    const double t = 0.025 * i;
    top.push_back(t < 2.5 ? 7.8 - 4.0 * std::max(0.0, t - 2.0) : 0.0);
  }
  const auto found = find_all_locked(top, 0.025, {}, {});
  REQUIRE(found.size() == 1);
  CHECK(found[0].v_mps.front() == Approx(5.8).margin(0.2));
  CHECK_FALSE(found[0].signal);
}
