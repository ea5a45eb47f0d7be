#include "signal/smooth.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

using namespace stopledger;

TEST_CASE("a straight line stays a straight line", "[signal][smooth]") {
  std::vector<double> line(50), ones(50, 1.0);
  for (std::size_t i = 0; i < line.size(); ++i) line[i] = 3.0 - 0.2 * static_cast<double>(i);
  const auto z = whittaker_smooth(line, ones, 1e4);
  for (std::size_t i = 0; i < line.size(); ++i) CHECK(z[i] == Approx(line[i]).margin(1e-7));
}

TEST_CASE("a gap is bridged by a straight line", "[signal][smooth]") {
  std::vector<double> value(60), weight(60, 1.0);
  for (std::size_t i = 0; i < 60; ++i) value[i] = static_cast<double>(i);
  for (std::size_t i = 20; i < 40; ++i) value[i] = 999.0, weight[i] = 0.0;
  const auto z = whittaker_smooth(value, weight, 10.0);
  CHECK(z[30] == Approx(30.0).margin(1e-4));
}

TEST_CASE("a wave of the stated period is halved", "[signal][smooth][S-SM1]") {
  const double period = 25.0;
  std::vector<double> wave(1000), ones(1000, 1.0);
  for (std::size_t i = 0; i < wave.size(); ++i)
    wave[i] = std::sin(2.0 * std::numbers::pi * static_cast<double>(i) / period);
  const auto z = whittaker_smooth(wave, ones, whittaker_lambda(period));
  double top = 0.0;
  for (std::size_t i = 300; i < 700; ++i) top = std::max(top, z[i]);
  CHECK(top == Approx(0.5).margin(0.01));
}

TEST_CASE("running extremes agree with looking at every window", "[signal][smooth]") {
  std::vector<double> value;
  for (int i = 0; i < 97; ++i) value.push_back(std::fmod(i * 37.0, 23.0));
  const int half = 4;
  const auto high = running_max(value, half), low = running_min(value, half);
  for (int i = 0; i < 97; ++i) {
    double most = -1e9, least = 1e9;
    for (int k = std::max(0, i - half); k <= std::min(96, i + half); ++k) {
      most = std::max(most, value[static_cast<std::size_t>(k)]);
      least = std::min(least, value[static_cast<std::size_t>(k)]);
    }
    CHECK(high[static_cast<std::size_t>(i)] == most);
    CHECK(low[static_cast<std::size_t>(i)] == least);
  }
}
