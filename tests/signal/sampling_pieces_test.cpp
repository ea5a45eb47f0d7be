#include "signal/sampling_pieces.h"

#include <catch2/catch.hpp>

using namespace stopledger;

namespace {

/// Samples at so many a second up to each time in turn.
WheelTrace sampled(const std::vector<std::pair<double, double>>& rate_until) {
  WheelTrace wheel;
  double t = 0.0;
  for (const auto& [rate_hz, until_s] : rate_until)
    for (; t < until_s; t += 1.0 / rate_hz) {
      wheel.t_s.push_back(t);
      wheel.v_mps.push_back(10.0);
    }
  return wheel;
}

}  // namespace

TEST_CASE("a recording of one rate is one piece", "[signal][pieces]") {
  for (const double rate : {1.0, 10.0, 12.9, 20.0, 100.0}) {
    INFO(rate);
    const std::vector<WheelTrace> wheels{sampled({{rate, 600.0}}), sampled({{rate, 600.0}})};
    const auto pieces = sampling_pieces(wheels, 0.0, 600.0);
    REQUIRE(pieces.size() == 1);
    CHECK(pieces[0].start_s == 0.0);
    CHECK(pieces[0].end_s == 600.0);
  }
}

TEST_CASE("a minute of few samples is cut off, two seconds from what is dense",
          "[signal][pieces]") {
  // 10 a second, 200 a second from 120 to 150 s, 10 a second.
  const std::vector<WheelTrace> wheels{sampled({{10.0, 120.0}, {200.0, 150.0}, {10.0, 400.0}})};
  const auto pieces = sampling_pieces(wheels, 0.0, 400.0);
  REQUIRE(pieces.size() == 3);
  CHECK(pieces[0].start_s == 0.0);
  CHECK(pieces[0].end_s == Approx(118.0).margin(1.0));  // seconds are counted whole
  CHECK(pieces[1].start_s == pieces[0].end_s);
  CHECK(pieces[1].end_s == Approx(152.0).margin(1.0));
  CHECK(pieces[2].start_s == pieces[1].end_s);
  CHECK(pieces[2].end_s == 400.0);
}

TEST_CASE("half a minute of few samples is not cut off", "[signal][pieces]") {
  const std::vector<WheelTrace> wheels{sampled({{200.0, 100.0}, {10.0, 130.0}, {200.0, 300.0}})};
  CHECK(sampling_pieces(wheels, 0.0, 300.0).size() == 1);
}

TEST_CASE("one wheel sampled densely keeps a stretch together", "[signal][pieces]") {
  const std::vector<WheelTrace> wheels{sampled({{5.0, 600.0}}), sampled({{100.0, 600.0}})};
  CHECK(sampling_pieces(wheels, 0.0, 600.0).size() == 1);
}
