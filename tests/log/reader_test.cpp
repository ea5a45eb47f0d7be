#include "log/reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>

#include "base/error.h"
#include "log/read_text.h"

using namespace stopledger;
using namespace stopledger_test;

TEST_CASE("semicolons, decimal commas and words for states are read", "[log][reader]") {
  const auto log = read(
      "some preamble\n\nTime (ms);Wheel speed LF (km/h);LF Inlet Vlv Cmd;LF outlet valve\n"
      "0;36,0;Off;Closed\n100;18,0;On;Open\n200;18,0;On;Closed\n");
  CHECK(log.rows == 3);
  const auto& speed = channel(log, "wheel_speed.FL");
  CHECK(speed.series.t_s == std::vector<double>{0.0, 0.1, 0.2});
  CHECK(speed.series.value[0] == Approx(10.0));
  CHECK(speed.series.value[1] == Approx(5.0));
  CHECK(channel(log, "inlet.FL").series.value == std::vector<double>{0, 1, 1});
  CHECK(channel(log, "outlet.FL").series.value == std::vector<double>{0, 1, 0});
}

TEST_CASE("a closed inlet is energised, a closed outlet is not", "[log][reader][valves]") {
  const auto log = read(
      "time s,FL inlet valve,FL outlet valve\n0,Open,Closed\n0.1,Closed,Closed\n"
      "0.2,Closed,Open\n");
  CHECK(channel(log, "inlet.FL").series.value == std::vector<double>{0, 1, 1});
  CHECK(channel(log, "outlet.FL").series.value == std::vector<double>{0, 0, 1});
}

TEST_CASE("units may stand in a row of their own", "[log][reader]") {
  const auto log = read("Time,FL speed,FR speed\ns,mph,mph\n0,10,10\n1,20,20\n");
  CHECK(channel(log, "wheel_speed.FR").series.value[1] == Approx(20 * 0.44704));
}

TEST_CASE("clock times run through midnight", "[log][reader][time]") {
  const auto log = read("Clock,vehicle speed km/h\n23:59:59.5,10\n00:00:00.0,9\n00:00:00.5,8\n");
  CHECK(log.duration_s == Approx(1.0));
  CHECK(log.segments.size() == 1);
}

TEST_CASE("two columns for one wheel role are refused with both names", "[log][reader][error]") {
  try {
    read("Time s,FL wheel speed,LF wheel speed\n0,1,1\n1,2,2\n");
    FAIL("no error");
  } catch (const Error& error) {
    const std::string what = error.what();
    CHECK(what.find("FL wheel speed") != std::string::npos);
    CHECK(what.find("LF wheel speed") != std::string::npos);
    CHECK(what.find("channel map") != std::string::npos);
  }
}

TEST_CASE("a file that is no recording is refused", "[log][reader][error]") {
  CHECK_THROWS_AS(read(""), Error);
  CHECK_THROWS_AS(read("Time s,FL speed\n"), Error);
  CHECK_THROWS_AS(read("FL speed,FR speed\n5,3\n4,7\n1,2\n"), Error);
  CHECK_THROWS_AS(read(std::string("\x7f"
                                   "ELF\x02\x01\x01\0\0\0\x03\0\x3e\x01",
                                   14)),
                  Error);
  CHECK_THROWS_AS(read_log("/", {}), Error);
  CHECK_THROWS_AS(read_log("/no/such/file.csv", {}), Error);
}

TEST_CASE("wheel speeds come from running pulse counts that wrap", "[log][reader][pulses]") {
  // 36 km/h = 10 m/s; 48 teeth on 2 m of rolling circumference: 240 pulses a second, so an
  // eight-bit count wraps about once a second.
  std::string text = "Time (s),FL wheel pulses,Vehicle speed (km/h)\n";
  for (int i = 0; i < 60; ++i)
    text += std::to_string(i * 0.05) + "," + std::to_string(12 * i % 256) + ",36\n";
  SECTION("scaled by the car's teeth and radius") {
    ReadOptions options;
    options.car.sensor_teeth = 48;
    options.car.rolling_radius_m = 1.0 / 3.14159265358979;
    const auto log = read_log_text(text, "test.csv", options);
    const auto& speed = channel(log, "wheel_speed.FL");
    CHECK(speed.unit_known);
    REQUIRE(speed.series.size() == 59);
    for (const double v : speed.series.value) CHECK(v == Approx(10.0).epsilon(1e-3));
  }
  SECTION("scaled to another speed where they are not known, and said so") {
    const auto log = read(text);
    const auto& speed = channel(log, "wheel_speed.FL");
    CHECK(speed.unit_known);
    for (const double v : speed.series.value) CHECK(v == Approx(10.0).epsilon(1e-3));
    std::string notes;
    for (const auto& note : log.notes) notes += note;
    CHECK(notes.find("scaled to") != std::string::npos);
    CHECK(notes.find("wraps at 256") != std::string::npos);
  }
}

TEST_CASE("few pulses a sample are counted over more samples", "[log][reader][pulses]") {
  // 10 m/s, 240 pulses a second looked at 100 times a second: 2 or 3 a sample, 8.3 or 12.5 m/s.
  std::string text = "Time (s),FL wheel pulses,Vehicle speed (km/h)\n";
  for (int i = 0; i < 200; ++i)
    text += std::to_string(i * 0.01) + "," + std::to_string(static_cast<int>(2.4 * i + 0.1) % 256) +
            ",36\n";
  ReadOptions options;
  options.car.sensor_teeth = 48;
  options.car.rolling_radius_m = 1.0 / 3.14159265358979;
  const auto log = read_log_text(text, "test.csv", options);
  const auto& speed = channel(log, "wheel_speed.FL");
  REQUIRE(speed.quantum);
  CHECK(*speed.quantum < 0.55);
  REQUIRE(speed.series.size() == 199);
  // One pulse either way over the nine samples that a step of 0.5 m/s takes.
  for (std::size_t i = 10; i < speed.series.size(); ++i)
    CHECK(speed.series.value[i] == Approx(10.0).margin(0.5));
}

TEST_CASE("a count that was written again and not read is left out", "[log][reader][pulses]") {
  // 10 m/s, 12 pulses each 0.05 s; at every tenth sample the recorder repeats the last count, then
  // the next one makes up for it. From 2 s on the wheel stands for 0.2 s and goes on as before.
  std::string text = "Time (s),FL wheel pulses,Vehicle speed (km/h)\n";
  int stood = 0;
  for (int i = 0; i < 80; ++i) {
    stood += i > 40 && i <= 44 ? 12 : 0;
    const bool again = i % 10 == 5 && i != 45;
    text +=
        std::to_string(i * 0.05) + "," + std::to_string(12 * (again ? i - 1 : i) - stood) + ",36\n";
  }
  ReadOptions options;
  options.car.sensor_teeth = 48;
  options.car.rolling_radius_m = 1.0 / 3.14159265358979;
  const auto log = read_log_text(text, "test.csv", options);
  const auto& speed = channel(log, "wheel_speed.FL").series;
  int standing = 0;
  for (std::size_t i = 0; i < speed.size(); ++i) {
    INFO(speed.t_s[i]);
    standing += speed.value[i] < 0.1 ? 1 : 0;
    CHECK((speed.value[i] == Approx(10.0).epsilon(1e-3) || speed.value[i] == Approx(0.0)));
  }
  CHECK(standing == 4);
}

TEST_CASE("a wheel that locks and comes back at once did stand", "[log][reader][pulses]") {
  // 12 pulses each 0.05 s, then 6, none three times, and 10 at once: less than before it slowed.
  std::string text = "Time (s),FL wheel pulses,Vehicle speed (km/h)\n";
  int count = 0;
  for (int i = 0; i < 60; ++i) {
    count += i == 30 ? 6 : i > 30 && i <= 33 ? 0 : i == 34 ? 10 : 12;
    text += std::to_string(i * 0.05) + "," + std::to_string(count) + ",36\n";
  }
  ReadOptions options;
  options.car.sensor_teeth = 48;
  options.car.rolling_radius_m = 1.0 / 3.14159265358979;
  const auto log = read_log_text(text, "test.csv", options);
  const auto& speed = channel(log, "wheel_speed.FL").series;
  CHECK(std::count_if(speed.value.begin(), speed.value.end(), [](double v) { return v < 0.1; }) ==
        3);
}

TEST_CASE("a late satellite speed is found late", "[log][reader][satellite]") {
  std::string text = "Time (s),Vehicle speed (km/h),GPS speed (km/h)\n";
  const auto speed = [](double t) { return 40.0 + 20.0 * std::sin(t / 4.0); };
  double held = 0.0;
  for (int i = 0; i < 1200; ++i) {
    const double t = 0.1 * i;
    if (i % 10 == 0) held = speed(t - 1.3);  // once a second, 1.3 s late
    char line[96];
    std::snprintf(line, sizeof line, "%.1f,%.2f,%.2f\n", t, speed(t), held);
    text += line;
  }
  const auto log = read(text);
  const auto& satellite = channel(log, "satellite_speed");
  CHECK(*satellite.rate_hz == Approx(1.0).epsilon(0.05));
  CHECK(satellite.read_skew_s == Approx(-1.3).margin(0.05));
  CHECK(satellite.read_skew_se_s < 0.05);
  bool said = false;
  for (const auto& note : log.notes) said = said || note.find("is late by") != std::string::npos;
  CHECK(said);
  // Put back in time, it shows the car's speed at its own stamps.
  for (std::size_t i = 0; i < satellite.series.size(); ++i)
    CHECK(satellite.series.value[i] * 3.6 == Approx(speed(satellite.series.t_s[i])).margin(0.4));
}

TEST_CASE("a satellite speed with nothing to compare is said to be of unknown delay",
          "[log][reader][satellite]") {
  const auto log = read("Time (s),GPS speed (km/h)\n0,10\n1,11\n2,12\n");
  REQUIRE_FALSE(log.notes.empty());
  CHECK(log.notes[0].find("delay is not known") != std::string::npos);
}

TEST_CASE("a speed in \"ms\" or \"rads\" has lost its slash", "[log][reader][units]") {
  // Column names that hold letters and underscores only, a common manner.
  std::string text = "time_s,v_FL_ms,wheel_speed_FR_rads,wheel_valve_RL_in,wheel_valve_RL_out\n";
  for (int i = 0; i < 40; ++i)
    text += fmt::format("{:.2f},{:.2f},{:.2f},{},{}\n", 0.05 * i, 12.0 - 0.2 * i,
                        (12.0 - 0.2 * i) / 0.3, i % 5 == 0, i % 5 == 1);
  const auto log = read(text);
  CHECK(channel(log, "wheel_speed.FL").unit_known);
  CHECK(channel(log, "wheel_speed.FL").series.value.front() == Approx(12.0));
  CHECK(channel(log, "wheel_speed.FR").series.value.front() == Approx(12.0));
  CHECK(channel(log, "inlet.RL").series.value[5] == 1.0);
  CHECK(channel(log, "outlet.RL").series.value[6] == 1.0);
  // Initials that only the other headers explain.
  const auto german = read("time_s,V_Rad_VL_rads,V_Rad_HL_rads\n0,40,40\n0.1,39,39\n0.2,38,38\n");
  CHECK(channel(german, "wheel_speed.FL").unit == "rads");
}

TEST_CASE("a valve column that counts shows where the count rises", "[log][reader][valves]") {
  std::string text = "time (s),speed FL (km/h),Outlet valve count FL,Outlet FR,Outlet RL\n";
  int releases = 0;
  for (int i = 0; i < 60; ++i) {
    releases += i % 6 == 3 ? 1 : 0;
    text += fmt::format("{:.2f},{:.1f},{},{},{}\n", 0.02 * i, 50.0 - 0.4 * i, 97 + releases,
                        (i / 4) % 3 * 50, 10 + releases);
  }
  // A count beyond 100, one below that is not named so, and a duty that comes and goes.
  const auto log = read(text);
  const auto rises = [&](const char* role) {
    std::vector<std::size_t> at;
    const auto& value = channel(log, role).series.value;
    for (std::size_t i = 0; i < value.size(); ++i)
      if (value[i] == 1.0) at.push_back(i);
    return at;
  };
  const std::vector<std::size_t> expected{3, 9, 15, 21, 27, 33, 39, 45, 51, 57};
  CHECK(rises("outlet.FL") == expected);
  CHECK(rises("outlet.RL") == expected);
  CHECK_FALSE(channel(log, "outlet.FL").is_duty);
  CHECK(channel(log, "outlet.FR").is_duty);
  CHECK(channel(log, "outlet.FR").series.value[5] == Approx(0.5));
}

TEST_CASE("wheels in turns a minute without a unit are no car at 500 km/h",
          "[log][reader][units]") {
  const auto text = [](const char* more, double more_factor) {
    std::string rows = fmt::format("time (s),n_wheel_FL,n_wheel_FR{}\n", more);
    for (int i = 0; i < 80; ++i) {
      const double v_mps = 16.0 - 0.2 * std::max(0, i - 20);
      const double turns = v_mps / 0.30 * 60.0 / 6.283185307;
      rows += fmt::format("{:.2f},{:.1f},{:.1f}", 0.05 * i, turns, turns);
      rows += more_factor > 0.0 ? fmt::format(",{:.2f}\n", v_mps * more_factor) : "\n";
    }
    return rows;
  };
  // Alone: the tyre is assumed, so the speed is near and said to be assumed.
  const auto alone = read(text("", 0.0));
  CHECK_FALSE(channel(alone, "wheel_speed.FL").unit_known);
  CHECK(channel(alone, "wheel_speed.FL").series.value.front() == Approx(16.0).epsilon(0.01));
  REQUIRE_FALSE(alone.notes.empty());
  CHECK(alone.notes.back().find("turns a minute") != std::string::npos);
  // Beside the car's speed: scaled to it.
  const auto beside = read(text(",Vehicle speed (km/h)", 3.6 * 1.1));
  CHECK(channel(beside, "wheel_speed.FL").unit_known);
  CHECK(channel(beside, "wheel_speed.FL").series.value.front() == Approx(17.6).epsilon(0.01));
}
