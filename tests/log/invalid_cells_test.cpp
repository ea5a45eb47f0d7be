// Cells of a speed that hold no speed: codes for "invalid" among good numbers.
#include "log/invalid_cells.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <functional>

#include "log/read_text.h"
#include "log/recorder.h"
#include "verify/check.h"

using namespace stopledger;
using namespace stopledger_test;

namespace {

/// Four wheel speeds at 20 Hz; the cell of FL in row `row` is what `fl` makes of it.
std::string wheels_with_codes(const std::function<std::string(int row, double kmh)>& fl) {
  std::string text =
      "Time (s),FL wheel speed (km/h),FR wheel speed (km/h),RL wheel speed (km/h),"
      "RR wheel speed (km/h)\n";
  for (int row = 0; row < 800; ++row) {
    const double t = row / 20.0;
    text += fmt::format("{:.2f},{}", t, fl(row, drive_kmh(t)));
    for (int wheel = 1; wheel < 4; ++wheel)
      text += fmt::format(",{:.1f}", drive_kmh(t, 40.0, wheel));
    text += '\n';
  }
  return text;
}

std::string kmh_text(double kmh) { return fmt::format("{:.1f}", kmh); }

const LogDefect* defect_of(const Log& log, const std::string& column) {
  for (const LogDefect& defect : log.defects)
    if (defect.what.find("\"" + column) != std::string::npos) return &defect;
  return nullptr;
}

}  // namespace

TEST_CASE("codes among good speeds are left out, counted and named", "[log][invalid]") {
  // Row 400 is at 20 s, in the cruise at 60 km/h; the header is line 1.
  for (const std::string code : {"-40", "6553.5", "255", "655.35"}) {
    const auto log = read(wheels_with_codes([&](int row, double kmh) {
      return row >= 400 && row < 430 && row % 3 == 1 ? code : kmh_text(kmh);
    }));
    INFO("code " << code);
    const auto& wheel = channel(log, "wheel_speed.FL");
    CHECK(wheel.series.size() == 790);
    CHECK(wheel.invalid == 10);
    CHECK(wheel.invalid_moving == 10);
    for (const double v : wheel.series.value) CHECK((v >= 0.0 && v < 18.0));
    const auto* defect = defect_of(log, "FL wheel speed");
    REQUIRE(defect != nullptr);
    CHECK(defect->count == 10);
    CHECK(defect->line == 402);  // row 400 is the first with 1 left over 3
    CHECK(defect->what.find(code) != std::string::npos);
    CHECK(channel(log, "wheel_speed.FR").invalid == 0);
  }
}

TEST_CASE("the finding says which cells held no speed", "[verify][check][invalid]") {
  const auto log = read(wheels_with_codes([](int row, double kmh) {
    return row >= 400 && row < 430 && row % 3 == 1 ? std::string("-40") : kmh_text(kmh);
  }));
  const auto outcome = check_logs({&log, 1}, {}, nullptr);
  const Finding* lost = nullptr;
  for (const Finding& finding : outcome.findings)
    if (finding.id == "wheel-signal-lost") lost = &finding;
  REQUIRE(lost != nullptr);
  CHECK(lost->corner == Corner::fl);
  CHECK(lost->text.find("10 cells of \"FL wheel speed (km/h)\" hold no speed") !=
        std::string::npos);
  CHECK(lost->text.find("-40") != std::string::npos);
  CHECK(lost->text.find("line 402") != std::string::npos);
}

TEST_CASE("a code while the car stands is counted but is no lost signal", "[verify][invalid]") {
  const auto log = read(wheels_with_codes(
      [](int row, double kmh) { return row < 80 ? std::string("6553.5") : kmh_text(kmh); }));
  CHECK(channel(log, "wheel_speed.FL").invalid == 80);
  CHECK(channel(log, "wheel_speed.FL").invalid_moving == 0);
  for (const Finding& finding : check_logs({&log, 1}, {}, nullptr).findings)
    CHECK(finding.id != "wheel-signal-lost");
}

TEST_CASE("a car that rolls back, a wheel that spins or locks is believed", "[log][invalid]") {
  std::vector<double> t, v;
  const auto add = [&](double speed) {
    t.push_back(static_cast<double>(t.size()) / 20.0);
    v.push_back(speed);
  };
  SECTION("reversing at up to 3 m/s") {
    for (int i = 0; i < 40; ++i) add(0.1 * i);
    for (int i = 40; i > -30; --i) add(0.1 * i);
    for (int i = -30; i <= 0; ++i) add(0.1 * i);
  }
  SECTION("noise about zero") {
    for (int i = 0; i < 100; ++i) add(i % 2 ? 0.2 : -0.2);
  }
  SECTION("wheelspin: 27 m/s2 up to three times the car's speed, and caught") {
    for (int i = 0; i < 40; ++i) add(8.0);
    for (int i = 0; i < 12; ++i) add(8.0 + 1.35 * i);
    for (int i = 0; i < 40; ++i) add(8.0);
  }
  SECTION("lock in one sample and back in the next") {
    for (int i = 0; i < 60; ++i) add(i % 10 == 5 ? 0.0 : 15.0);
  }
  for (const auto fault : judge_speed_cells(t, v, true)) CHECK(fault == CellFault::none);
}
