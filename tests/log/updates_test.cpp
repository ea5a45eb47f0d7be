#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "log/read_text.h"
#include "log/reader.h"
#include "log/recorder.h"

using namespace stopledger;
using namespace stopledger_test;

namespace {

std::vector<TestColumn> wheels(double quantum, int decimals, double period_rows = 1.0) {
  std::vector<TestColumn> columns;
  int wheel = 0;
  for (const auto* name : {"FL", "FR", "RL", "RR"}) {
    columns.push_back({std::string(name) + " wheel speed (km/h)",
                       [wheel](double t) { return drive_kmh(t, 40.0, wheel); }, quantum, decimals,
                       period_rows, 0.0});
    ++wheel;
  }
  return columns;
}

bool updates_say(const Log& log, const std::string& text) {
  return std::any_of(log.notes.begin(), log.notes.end(),
                     [&](const std::string& note) { return note.find(text) != std::string::npos; });
}

}  // namespace

TEST_CASE("a quantised speed that stands still in a block log is fresh", "[log][updates]") {
  // 1 km/h steps at 20 Hz: at 7 m/s2 the speed changes by 1.26 km/h from row to row, cruising it
  // may not change for seconds, at rest never.
  const auto log = read(record({.row_hz = 20.0}, wheels(1.0, 0)));
  for (const auto* role : {"wheel_speed.FL", "wheel_speed.RR"}) {
    const auto& speed = channel(log, role);
    CHECK(*speed.rate_hz == Approx(20.0).epsilon(0.02));
    CHECK_FALSE(speed.repeats_held);
    CHECK(speed.series.size() == log.rows);
    CHECK(*speed.quantum == Approx(1.0 / 3.6).epsilon(0.02));
  }
}

TEST_CASE("a coarse speed that creeps between rows is fresh, not held", "[log][updates]") {
  // 1 km/h at 100 Hz: even at 7 m/s2 a change comes only every fourth row.
  const auto log = read(record({.row_hz = 100.0, .length_s = 80.0}, wheels(1.0, 0)));
  CHECK(*channel(log, "wheel_speed.FL").rate_hz == Approx(100.0).epsilon(0.02));
}

TEST_CASE("round-robin logs give each channel its own slow rate", "[log][updates]") {
  auto columns = wheels(1.0, 0, 10.0);
  for (std::size_t k = 0; k < columns.size(); ++k) columns[k].phase_rows = static_cast<double>(k);
  columns.push_back({"LF outlet valve", [](double) { return 0.0; }, 1.0, 0, 10.0, 4.0});
  columns.push_back({"RF outlet valve", [](double t) { return pulses(t); }, 1.0, 0, 10.0, 5.0});
  const auto log = read(record({.row_hz = 11.0, .length_s = 600.0}, columns));
  for (const auto* role : {"wheel_speed.FL", "wheel_speed.RR"}) {
    CHECK(channel(log, role).repeats_held);
    CHECK(*channel(log, role).rate_hz == Approx(1.1).epsilon(0.1));
  }
  SECTION("a valve that never moves is credited with its companions' rate, not the rows'") {
    CHECK(*channel(log, "outlet.FL").rate_hz == Approx(1.1).epsilon(0.1));
    CHECK(channel(log, "outlet.FL").samples < log.rows / 8);
    // Its place in the round is not known: a whole round of doubt.
    CHECK(channel(log, "outlet.FL").time_uncertainty_s == Approx(0.9).epsilon(0.1));
  }
  SECTION("a valve that moves is sampled on the rows on which it can change") {
    const auto& valve = channel(log, "outlet.FR");
    CHECK(*valve.rate_hz == Approx(1.1).epsilon(0.1));
    // Every fresh sample lies on row 5 of a round (start 1 s, 11 rows a second, jitter 0.1 row).
    std::size_t off = 0;
    for (const double t : valve.series.t_s) {
      const double row = std::fmod(t * 11.0 + 0.5, 10.0);
      off += row < 4.5 || row > 6.5 ? 1 : 0;
    }
    CHECK(off * 20 < valve.samples);
  }
}

TEST_CASE("channels of one block may be renewed at different rates", "[log][updates]") {
  auto columns = wheels(0.05, 2);
  columns.push_back(
      {"LF inlet valve", [](double t) { return pulses(t, 40, 0.05); }, 1.0, 0, 5.0, 2.0});
  columns.push_back({"LF outlet valve", [](double t) { return pulses(t); }, 1.0, 0, 5.0, 2.0});
  columns.push_back(
      {"vehicle speed (km/h)", [](double t) { return drive_kmh(t); }, 1.0, 0, 10.0, 0.0});
  const auto log = read(record({.row_hz = 50.0, .length_s = 400.0}, columns));
  CHECK(*channel(log, "wheel_speed.FL").rate_hz == Approx(50.0).epsilon(0.02));
  CHECK(*channel(log, "inlet.FL").rate_hz == Approx(10.0).epsilon(0.1));
  CHECK(*channel(log, "outlet.FL").rate_hz == Approx(10.0).epsilon(0.1));
  CHECK(*channel(log, "vehicle_speed").rate_hz == Approx(5.0).epsilon(0.1));
  CHECK(channel(log, "vehicle_speed").repeats_held);
  // Edges on a grid are kept as one, but prove no repeats where the wheels are fresh in every row.
  CHECK_FALSE(channel(log, "outlet.FL").repeats_held);
  CHECK(updates_say(log, "changes lie on a grid (inlet.FL 0.1 s, outlet.FL 0.1 s)"));
}

TEST_CASE("a control that works in steps is no recorder that repeats", "[log][updates]") {
  // Pulses whose edges lie on a grid of 20, 30 or 50 ms in rows that are all fresh, 100 a second.
  for (const double grid : {0.02, 0.03, 0.05}) {
    auto columns = wheels(0.05, 2);
    for (const auto* name : {"LF outlet valve", "RF outlet valve"})
      columns.push_back({name,
                         [grid, shift = static_cast<double>(columns.size()) * grid](double t) {
                           return pulses(std::floor(t / grid + 1e-9) * grid, 40.0, shift);
                         },
                         1.0, 0, 1.0, 0.0});
    const auto log = read(record({.row_hz = 100.0, .length_s = 200.0, .jitter = 0.0}, columns));
    INFO("grid " << grid);
    for (const auto& one : log.channels) CHECK_FALSE(one.repeats_held);
    CHECK_FALSE(updates_say(log, "rows repeat old values"));
    // No edge is lost by keeping the grid: the pulses are as long as they were.
    double on = 0.0;
    const auto& series = channel(log, "outlet.FL").series;
    for (std::size_t i = 1; i < series.size(); ++i)
      on += series.value[i - 1] > 0.5 ? series.t_s[i] - series.t_s[i - 1] : 0.0;
    double truth = 0.0;
    for (double t = 1.0; t < 201.0; t += 0.001) truth += 0.001 * columns[4].truth(t);
    CHECK(on == Approx(truth).epsilon(0.03));
  }
}

TEST_CASE("with blanks between, every filled cell is fresh", "[log][updates]") {
  auto columns = wheels(1.0, 0, 8.0);
  for (std::size_t k = 0; k < columns.size(); ++k)
    columns[k].phase_rows = static_cast<double>(2 * k);
  const auto log = read(record({.row_hz = 40.0, .blank_between = true}, columns));
  const auto& speed = channel(log, "wheel_speed.RL");
  CHECK(*speed.rate_hz == Approx(5.0).epsilon(0.05));
  CHECK(speed.samples == 600);  // 120 s at 5 Hz
  CHECK_FALSE(speed.repeats_held);
  CHECK(speed.time_uncertainty_s == 0.0);
}

TEST_CASE("a log in which nothing moves is credited with its rows", "[log][updates]") {
  const auto log =
      read(record({.row_hz = 10.0}, {{"FL wheel speed (km/h)", [](double) { return 0.0; }},
                                     {"LF outlet valve", [](double) { return 0.0; }, 1.0, 0}}));
  CHECK(*channel(log, "outlet.FL").rate_hz == Approx(10.0).epsilon(0.02));
}

TEST_CASE("the true rate of any recorder is found within a tenth", "[log][updates][property]") {
  std::mt19937 random(20261125);
  const auto pick = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int trial = 0; trial < 60; ++trial) {
    // Whole-row periods as polled lists have, and odd ratios as two free-running clocks give.
    const double row_hz = std::exp(pick(std::log(8.0), std::log(120.0)));
    const bool odd_ratio = trial % 3 == 2;
    const double slowest = std::max(1.0, row_hz / 0.8);  // slower than 0.8 Hz nothing can be said
    double period = std::min(std::exp(pick(0.0, std::log(16.0))), slowest);
    if (!odd_ratio) period = std::round(period);
    if (odd_ratio && period < 1.5) period = 1.0;
    // Limit: a coarse value that moves by less than two steps per renewal on an odd ratio looks
    // exactly like a coarse value renewed in every row.
    const bool coarse = trial % 2 == 0 && !odd_ratio;
    auto columns = wheels(coarse ? 1.0 : 0.1, coarse ? 0 : 1, period);
    for (std::size_t k = 0; k < columns.size(); ++k)
      columns[k].phase_rows = std::floor(pick(0.0, period));
    columns.push_back({"LF outlet valve", [](double) { return 0.0; }, 1.0, 0, period, 0.0});
    const auto log = read(record({.row_hz = row_hz,
                                  .length_s = 400.0,
                                  .jitter = pick(0.0, 0.3),
                                  .seed = static_cast<unsigned>(trial)},
                                 columns));
    INFO("trial " << trial << ": rows " << row_hz << " Hz, period " << period << " rows, coarse "
                  << coarse);
    for (const auto* role :
         {"wheel_speed.FL", "wheel_speed.FR", "wheel_speed.RL", "wheel_speed.RR", "outlet.FL"}) {
      INFO(role);
      CHECK(*channel(log, role).rate_hz == Approx(row_hz / period).epsilon(0.1));
    }
  }
}

TEST_CASE("the rhythm of the control is not taken for the recorder's grid", "[log][updates]") {
  // Valves that pulse with 0.05 s in every 0.30 s to the row, in a log renewed in every row.
  auto columns = wheels(0.05, 2);
  columns.push_back({"LF outlet valve",
                     [](double t) {
                       const double u = std::fmod(t, 41.37) - 30.0;
                       return u > 0.1 && u < 2.2 && std::fmod(u, 0.3) < 0.05 ? 1.0 : 0.0;
                     },
                     1.0, 0});
  const auto log = read(record({.row_hz = 100.0, .length_s = 200.0, .jitter = 0.0}, columns));
  CHECK(*channel(log, "outlet.FL").rate_hz == Approx(100.0).epsilon(0.02));
}

TEST_CASE("one coarse speed and two valves read in turn have the turn's rate", "[log][updates]") {
  for (unsigned seed = 0; seed < 12; ++seed) {
    const double row_hz = 14.0 + 3.0 * seed;
    const TestRecorder recorder{.row_hz = row_hz, .length_s = 12.0, .jitter = 0.2, .seed = seed};
    const double shift = 20.0 + 0.3 * seed;  // stops hard after 10 s and less
    std::vector<TestColumn> columns{
        {"FL outlet", [&](double t) { return pulses(t + shift); }, 1.0, 0, 3.0, 0.0},
        {"FR outlet", [](double) { return 0.0; }, 1.0, 0, 3.0, 1.0},
        {"vehicle speed (km/h)", [&](double t) { return drive_kmh(t + shift); }, 8.0, 0, 3.0, 2.0}};
    const auto log = read(record(recorder, columns));
    INFO("rows " << row_hz << " Hz");
    for (const auto* role : {"outlet.FL", "outlet.FR", "vehicle_speed"})
      CHECK(*channel(log, role).rate_hz == Approx(row_hz / 3.0).epsilon(0.1));
    // The same columns read together: the rate of the rows.
    for (auto& column : columns) column.period_rows = 1.0, column.phase_rows = 0.0;
    const auto block = read(record(recorder, columns));
    CHECK(*channel(block, "outlet.FL").rate_hz == Approx(row_hz).epsilon(0.1));
  }
}

TEST_CASE("blanks before the first value are not blanks between values", "[log][updates]") {
  auto columns = wheels(0.1, 1, 12.0);
  for (std::size_t k = 0; k < columns.size(); ++k)
    columns[k].phase_rows = 3.0 * static_cast<double>(k);
  // 12 columns in turn, 8 of them not used; the last wheel is blank for 9 of 80 rows.
  for (int k = 0; k < 8; ++k)
    columns.push_back(
        {"Coolant " + std::to_string(k), [](double) { return 80.0; }, 1.0, 0, 12.0, 1.0});
  const auto log = read(record({.row_hz = 8.0, .length_s = 10.0, .jitter = 0.0}, columns));
  CHECK(*channel(log, "wheel_speed.RR").rate_hz < 2.0);
}
