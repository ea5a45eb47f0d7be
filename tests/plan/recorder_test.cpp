#include "plan/recorder.h"

#include <catch2/catch.hpp>

#include "base/error.h"

using namespace stopledger;

TEST_CASE("a recorder's budget is shared, per channel or by the block", "[plan][recorder]") {
  CHECK(*parse_recorder("8/s").interval_s(4) == Approx(0.5));  // 4 columns in turn
  CHECK(*parse_recorder("8/s total").interval_s(4) == Approx(0.5));
  CHECK(*parse_recorder("5/s each").interval_s(4) == Approx(0.2));
  CHECK(*parse_recorder("10/s block max 6").interval_s(6) == Approx(0.1));
  CHECK_FALSE(parse_recorder("10/s block, max 6").interval_s(7));
  CHECK(*parse_recorder("7.5/s").interval_s(1) == Approx(1.0 / 7.5));
}

TEST_CASE("a budget that cannot be meant is refused with an example", "[plan][recorder]") {
  for (const char* text : {"", "8", "8 Hz", "0/s", "-3/s", "nan/s", "inf/s", "1e9/s", "8/s max",
                           "8/s max 0", "8/s max 2.5", "8/s each way"})
    CHECK_THROWS_WITH(parse_recorder(text),
                      Catch::Contains("--recorder") && Catch::Contains("5/s each"));
}

TEST_CASE("earlier logs tell the kind of budget", "[plan][recorder]") {
  // 2 channels at 4/s and 8 channels at 1/s: eight values a second in all.
  const SeenRate shared[]{{2, 4.0, false}, {8, 1.0, false}};
  const Recorder total = measured_recorder(shared);
  CHECK(total.kind == Recorder::Kind::total);
  CHECK(total.rate_hz == Approx(8.0));
  // 2 and 8 channels at about 10/s: per channel, and never more channels than seen.
  const SeenRate each[]{{2, 10.2, false}, {8, 9.8, false}};
  const Recorder apart = measured_recorder(each);
  CHECK(apart.kind == Recorder::Kind::each);
  CHECK(apart.rate_hz == Approx(9.8));
  CHECK_FALSE(apart.interval_s(9));
  // One log alone: as it was, unless its cells were read in turn.
  const SeenRate one[]{{6, 1.5, false}};
  CHECK(measured_recorder(one).kind == Recorder::Kind::each);
  const SeenRate polled[]{{6, 1.5, true}};
  CHECK(measured_recorder(polled).kind == Recorder::Kind::total);
  CHECK(measured_recorder(polled).rate_hz == Approx(9.0));
}

TEST_CASE("a log shows how its recorder was shared", "[plan][recorder]") {
  Log log;
  log.rows = 600;
  for (const Corner corner : all_corners) {
    Channel channel;
    channel.role = Role::at(QuantityKind::outlet, corner);
    channel.rate_hz = 2.0;
    channel.samples = 150;  // a fourth of the rows: read in turn
    log.channels.push_back(channel);
  }
  const auto polled = seen_rate(log);
  REQUIRE(polled);
  CHECK(polled->channels == 4);
  CHECK(polled->reads_in_turn);
  CHECK(measured_recorder(std::vector{*polled}).rate_hz == Approx(8.0));
  log.rows = 150;  // every row renews every channel
  CHECK_FALSE(seen_rate(log)->reads_in_turn);
  CHECK(measured_recorder(std::vector{*seen_rate(log)}).kind == Recorder::Kind::each);
  log.channels.clear();
  CHECK_FALSE(seen_rate(log));
}
