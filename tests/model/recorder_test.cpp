#include "model/recorder.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <sstream>

#include "model/scenario.h"
#include "model/signals.h"

using namespace stopledger;
using namespace stopledger::model;

namespace {

std::vector<std::string> lines(const std::string& text) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) out.push_back(line);
  return out;
}

Case wet_stop() {
  Case c;
  c.manoeuvre = straight_stop(40.0 / 3.6, 1.0, 11e3, 0.5);
  return c;
}

}  // namespace

TEST_CASE("a block recorder writes every channel in every row", "[model][recorder]") {
  const Case c = wet_stop();
  const Run run = simulate(c, 1);
  Recorder r;
  r.rate_hz = 10.0;
  r.channels = wheel_speed_roles();
  const Recording out = record_run(run, c, r, 1);
  const auto rows = lines(out.text);
  REQUIRE(rows.size() == out.rows + 1);
  CHECK(rows[0] ==
        "Time [s],Wheel speed FL [km/h],Wheel speed FR [km/h],Wheel speed RL [km/h],"
        "Wheel speed RR [km/h]");
  for (const std::string& row : rows) CHECK(std::count(row.begin(), row.end(), ',') == 4);
  // 10 rows a second from 0 to the end of the run, both ends included.
  CHECK(out.rows == static_cast<std::size_t>(run.duration_s() * 10.0) + 1);
  CHECK(rows[1].substr(0, 6) == "0.000,");
}

TEST_CASE("turns share the budget: blanks or repeats", "[model][recorder]") {
  const Case c = wet_stop();
  const Run run = simulate(c, 1);
  Recorder r;
  r.sampling = Sampling::turns_blank;
  r.rate_hz = 8.0;
  r.speed_step = 1.0;
  r.channels = wheel_speed_roles();
  auto rows = lines(record_run(run, c, r, 1).text);
  REQUIRE(rows.size() > 6);
  CHECK(rows[1] == "0.000,40,,,");
  CHECK(rows[2] == "0.125,,40,,");
  CHECK(rows[3] == "0.250,,,40,");
  r.sampling = Sampling::turns_repeat;
  rows = lines(record_run(run, c, r, 1).text);
  CHECK(rows[1] == "0.000,40,,,");
  CHECK(rows[4] == "0.375,40,40,40,40");
}

TEST_CASE("decimal comma, semicolon and CRLF", "[model][recorder]") {
  const Case c = wet_stop();
  Recorder r;
  r.rate_hz = 5.0;
  r.delimiter = ';';
  r.decimal_comma = true;
  r.crlf = true;
  r.channels = {Role::of_car(QuantityKind::master_pressure), Role::of_car(QuantityKind::pump)};
  const auto rows = lines(record_run(simulate(c, 1), c, r, 1).text);
  CHECK(rows[0] == "Time [s];Master cylinder pressure [bar];Return pump\r");
  CHECK(rows[1] == "0,000;0,0;0\r");
}

TEST_CASE("scenarios repeat by seed and keep controllers of the two splits apart",
          "[model][scenario]") {
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    const Scenario a = scenario(seed, Split::tuning), b = scenario(seed, Split::tuning);
    REQUIRE(a.takes.size() == b.takes.size());
    const Take &x = a.takes[0], &y = b.takes[0];
    REQUIRE(record_run(simulate(x.c, x.run_seed), x.c, x.recorder, 1).text ==
            record_run(simulate(y.c, y.run_seed), y.c, y.recorder, 1).text);
    REQUIRE_FALSE(x.c.controller.judging);
    REQUIRE(scenario(seed, Split::judging).takes[0].c.controller.judging);
  }
}
