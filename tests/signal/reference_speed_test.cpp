#include "signal/reference_speed.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "signal/wheel_scales.h"

using namespace stopledger;

namespace {

/// Four wheels sampled at 50 Hz; `wheel(k, t)` gives their speeds.
template <typename Wheel>
std::vector<WheelTrace> four_wheels(double end_s, Wheel wheel) {
  std::vector<WheelTrace> traces(4);
  for (int k = 0; k < 4; ++k)
    for (double t = 0.0; t <= end_s; t += 0.02) {
      traces[static_cast<std::size_t>(k)].t_s.push_back(t);
      traces[static_cast<std::size_t>(k)].v_mps.push_back(wheel(k, t));
    }
  return traces;
}

double car(double t) { return std::max(0.0, t < 2.0 ? 12.0 : 12.0 - 4.0 * (t - 2.0)); }

}  // namespace

TEST_CASE("the car is found though every wheel dips", "[signal][reference]") {
  const auto wheels = four_wheels(6.0, [](int k, double t) {
    const double phase = 18.0 * t + 1.5 * k;
    const double slip = t > 2.3 && t < 4.8 ? 0.2 * std::max(0.0, std::sin(phase)) : 0.0;
    return car(t) * (1.0 - slip);
  });
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 6.0);
  for (double t = 0.5; t < 4.2; t += 0.1) {
    INFO(t);
    CHECK(reference.at(t) == Approx(car(t)).margin(0.25));  // 2 % of the entry speed
  }
}

TEST_CASE("one spike does not lift the car", "[signal][reference]") {
  auto wheels = four_wheels(6.0, [](int, double t) { return car(t); });
  wheels[2].v_mps[130] = 25.0;
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 6.0);
  CHECK(reference.at(2.6) == Approx(car(2.6)).margin(0.15));
}

TEST_CASE("a locked wheel does not pull the car down", "[signal][reference]") {
  const auto wheels = four_wheels(6.0, [](int k, double t) {
    return k == 3 && t > 2.4 ? car(t) * std::max(0.0, 1.0 - (t - 2.4) / 0.1) : car(t);
  });
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 6.0);
  for (double t = 2.6; t < 4.2; t += 0.2) CHECK(reference.at(t) == Approx(car(t)).margin(0.2));
}

TEST_CASE("spinning driven wheels do not lift the car", "[signal][reference]") {
  const auto wheels = four_wheels(6.0, [](int k, double t) {
    const double rolling = 2.0 + 1.5 * t;
    const double spin = t > 2.0 && t < 3.0 ? 4.0 * std::sin(3.14159 * (t - 2.0)) : 0.0;
    return rolling + (k < 2 ? spin : 0.0);
  });
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 6.0);
  CHECK(reference.at(2.5) == Approx(2.0 + 1.5 * 2.5).margin(0.4));
}

TEST_CASE("an odd tyre is learned in free rolling", "[signal][reference]") {
  const auto wheels =
      four_wheels(6.0, [](int k, double t) { return car(t) * (k == 1 ? 0.94 : 1.0); });
  const WheelScales scales = estimate_wheel_scales(wheels, 0.0, 6.0);
  CHECK(scales.scale[1] == Approx(1.0 / 0.94).epsilon(0.003));
  CHECK(scales.scale[0] == Approx(1.0).epsilon(0.003));
}

TEST_CASE("no wheel scale is learned while driven wheels spin", "[signal][reference]") {
  const auto wheels = four_wheels(6.0, [](int k, double t) {
    return (3.0 + 2.0 * t) * (k < 2 ? 1.15 : 1.0);  // pulling away all the time
  });
  const WheelScales scales = estimate_wheel_scales(wheels, 0.0, 6.0);
  for (const double scale : scales.scale) CHECK(scale == 1.0);
}

TEST_CASE("wheels that come up again in the same braking were below the car",
          "[signal][reference]") {
  // Ice: all four sink together for seconds and come up at 6 s, the control at work all the time.
  const auto icy = [](double t) { return t < 2.0 ? 14.0 : 14.0 - 0.8 * (t - 2.0); };
  const auto wheels = four_wheels(8.0, [&](int, double t) {
    const double sunk = t > 2.5 && t < 6.0 ? 0.45 * std::sin(3.14159 * (t - 2.5) / 3.5) : 0.0;
    return icy(t) * (1.0 - sunk);
  });
  CarWitness witness;
  for (double t = 2.3; t < 8.0; t += 0.3) witness.control_s.push_back(t);
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 8.0, witness);
  // Never below what the wheels show at 6 s; without the control they would be believed.
  for (double t = 3.0; t < 5.5; t += 0.25) CHECK(reference.at(t) > icy(6.0) - 0.3);
  CHECK(estimate_reference_speed(wheels, 0.0, 8.0).at(4.25) < icy(6.0) - 2.0);
}

TEST_CASE("wheels in slip while the car gathers speed on ice teach no size",
          "[signal][reference]") {
  // Half a metre per second squared on ice, driven wheels 4 % too fast, then 1.5 s of rolling.
  const auto speed = [](double t) { return 4.5 + 0.5 * std::min(t, 12.0); };
  const auto wheels = four_wheels(
      13.5, [&](int k, double t) { return speed(t) * (k < 2 && t < 12.0 ? 1.04 : 1.0); });
  const WheelScales scales = estimate_wheel_scales(wheels, 0.0, 13.5);
  for (const double scale : scales.scale) CHECK(scale == Approx(1.0).margin(0.002));
}

TEST_CASE("where every wheel left the car it slowed on the way back to it", "[signal][reference]") {
  // From 60 km/h at 2 m/s2; from 2.5 s on all wheels fall to a third within half a second, faster
  // than any car, and one comes back to the car's speed at 5 s.
  const auto slow_car = [](double t) { return std::max(0.0, 16.7 - 2.0 * std::max(0.0, t - 2.0)); };
  const auto wheels = four_wheels(11.0, [&](int k, double t) {
    double slip = 0.0;
    if (t > 2.5 && t < 5.0) slip = 0.66 * std::min(1.0, (t - 2.5) / 0.5);
    if (k == 0 && t > 4.5 && t < 5.0) slip *= (5.0 - t) / 0.5;
    if (k != 0 && t >= 5.0) slip = 0.66 * std::max(0.0, 1.0 - (t - 5.0) / 1.5);
    return slow_car(t) * (1.0 - slip);
  });
  CarWitness witness;
  witness.pedal_known = true;
  witness.pedal.push_back({2.0, 11.0});
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 11.0, witness);
  for (double t = 2.2; t < 9.0; t += 0.2) {
    INFO(t);
    CHECK(reference.at(t) == Approx(slow_car(t)).margin(0.7));  // 2.5 km/h; the dip is 30 km/h deep
  }
}

TEST_CASE("wheels let go in the last moment of a stop tell nothing of its beginning",
          "[signal][reference]") {
  // From 72 km/h at 7 m/s2 and from 18 km/h at 2 m/s2: grip ends before the stop does. All wheels
  // dip in turn; at the end all are low, and one is let go and passes the car before it stands.
  const auto bent = [](double t) {
    const double first = 20.0 - 7.0 * std::max(0.0, t - 1.0);
    return first > 5.0 ? first : std::max(0.0, 5.0 - 2.0 * (t - 1.0 - 15.0 / 7.0));
  };
  const double end = 1.0 + 15.0 / 7.0 + 2.5;
  const auto wheels = four_wheels(8.0, [&](int k, double t) {
    const double v = bent(t);
    if (t > end - 0.7) return t < end - 0.25 ? 0.45 : t < end - 0.1 ? (k == 0 ? 0.95 : 0.45) : 0.0;
    const double phase = std::fmod(t + 0.1 * k, 0.4) / 0.4;
    return v * (t < 1.2 ? 1.0 : 1.0 - 0.3 * std::max(0.0, std::sin(6.2832 * phase)));
  });
  CarWitness witness;
  for (double t = 1.2; t < end - 0.15; t += 0.1) witness.control_s.push_back(t);
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 8.0, witness);
  for (double t = 1.3; t < end - 0.8; t += 0.1) {
    INFO(t);
    CHECK(reference.at(t) == Approx(bent(t)).margin(0.7));  // the chord passes 3 m/s above
  }
}

TEST_CASE("a wheel that swings past the car when it is let go does not lift it",
          "[signal][reference]") {
  // 36 km/h at 2 m/s2, all wheels 3 % below the car; one dips by half and, let go at 3 s, runs past
  // the car by 12 % for one look before it follows it, as a wheel on its tyre does.
  const auto slow_car = [](double t) { return std::max(0.0, 10.0 - 2.0 * std::max(0.0, t - 1.0)); };
  const auto wheels = four_wheels(7.0, [&](int k, double t) {
    const double v = slow_car(t) * (t < 1.2 ? 1.0 : 0.97);
    if (k != 0 || t < 2.7 || t > 3.01) return v;
    return t < 2.99 ? 0.5 * v : 1.15 * v;
  });
  CarWitness witness;
  witness.pedal_known = true;
  witness.pedal.push_back({1.0, 7.0});
  const ReferenceSpeed reference = estimate_reference_speed(wheels, 0.0, 7.0, witness);
  for (double t = 1.4; t < 5.4; t += 0.1) {
    INFO(t);
    CHECK(reference.at(t) == Approx(slow_car(t)).epsilon(0.05));
  }
}
