// A late satellite speed against the recorder model, which knows by how much it is late.
#include "log/satellite.h"

#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "log/read_text.h"
#include "log/reader.h"
#include "model/recorder.h"
#include "model/scenario.h"
#include "model/signals.h"
#include "verify/check.h"

using namespace stopledger;

namespace {

const Role from_space = Role::of_car(QuantityKind::satellite_speed);

/// One stop from 60 km/h, the satellite speed late by `lag_s`.
Log late_log(double lag_s, std::uint64_t seed, double noise = 0.0) {
  model::Case c;
  c.manoeuvre = model::straight_stop(60.0 / 3.6, 8.0, 9e3, 4.0);
  model::Recorder r;
  r.rate_hz = 10.0;
  r.noise = noise;
  r.satellite_lag_s = lag_s;
  r.channels = model::wheel_speed_roles();
  r.channels.push_back(from_space);
  return read_log_text(model::record_run(model::simulate(c, seed), c, r, seed).text, "late.csv",
                       {});
}

bool log_says(const Log& log, const std::string& text) {
  return std::any_of(log.notes.begin(), log.notes.end(),
                     [&](const std::string& note) { return note.find(text) != std::string::npos; });
}

}  // namespace

TEST_CASE("a late satellite speed is put back in time or declined, never used as it stands",
          "[log][satellite]") {
  int aligned = 0, within = 0, all = 0;
  for (const double lag : {0.3, 0.8, 1.5, 2.0})
    for (const std::uint64_t seed : {1U, 2U, 3U, 4U, 5U}) {
      const Log log = late_log(lag, seed);
      const Channel* satellite = log.find(from_space);
      REQUIRE(satellite);
      INFO("lag " << lag << ", seed " << seed);
      ++all;
      if (satellite->read_skew_se_s == 0.0) {
        CHECK(log_says(log, "nothing is measured against it"));
        continue;
      }
      ++aligned;
      CHECK(satellite->read_skew_se_s <= satellite_sure_s);
      // A speed that steps once a second is late by its lag when it is renewed.
      const double error = -satellite->read_skew_s - lag;
      CHECK(std::abs(error) < 0.5);
      within += std::abs(error) < 2.0 * satellite->read_skew_se_s + 0.1 ? 1 : 0;
      if (lag >= 0.8) CHECK(log_says(log, "was put back in time by that"));
    }
  INFO(aligned << " of " << all << " aligned, " << within << " within two standard errors");
  CHECK(within >= aligned * 9 / 10);
}

TEST_CASE("a long drive aligns its satellite speed and shows a wrong radius", "[log][satellite]") {
  // Speeds that rise, stay and fall; the wheels read 4 % too much.
  const auto speed = [](double t) {
    const double u = std::fmod(t, 40.0);
    return u < 10.0 ? 30.0 + 3.0 * u : u < 25.0 ? 60.0 : u < 30.0 ? 60.0 - 6.0 * (u - 25.0) : 30.0;
  };
  std::string text = "Time (s),FL wheel speed (km/h),FR wheel speed (km/h),GPS speed (km/h)\n";
  double held = 0.0;
  for (int i = 0; i < 6000; ++i) {
    const double t = 0.05 * i;
    if (i % 20 == 0) held = speed(std::max(0.0, t - 1.7));
    const double wheel = 1.04 * speed(t);
    text += fmt::format("{:.2f},{:.2f},{:.2f},{:.1f}\n", t, wheel, wheel, held);
  }
  const auto log = stopledger_test::read(text);
  const auto& satellite = stopledger_test::channel(log, "satellite_speed");
  CHECK(satellite.read_skew_s == Approx(-1.7).margin(0.1));
  CHECK(log_says(log, "the wheels read 4.0 % more than \"GPS speed (km/h)\""));
}

TEST_CASE("a satellite speed alone is no reference, and the check says so",
          "[verify][check][satellite]") {
  model::Case c;
  c.manoeuvre = model::straight_stop(60.0 / 3.6, 3.0, 11e3, 3.0);
  model::Recorder r;
  r.rate_hz = 20.0;
  r.satellite_lag_s = 1.0;
  r.channels = model::valve_roles(model::Unit{});
  r.channels.push_back(from_space);
  const Log log =
      read_log_text(model::record_run(model::simulate(c, 1), c, r, 1).text, "alone.csv", {});
  const auto outcome = check_logs({&log, 1}, {}, nullptr);
  for (const Episode& episode : outcome.episodes) CHECK_FALSE(episode.mfdd_mps2.has_value());
  const auto finding = std::find_if(outcome.findings.begin(), outcome.findings.end(),
                                    [](const Finding& one) { return one.id == "no-stop-found"; });
  REQUIRE(finding != outcome.findings.end());
  CHECK(finding->text.find("satellite receiver's, late by an unknown time") != std::string::npos);
}
