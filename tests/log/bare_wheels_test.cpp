// Columns that name a wheel and nothing else: taken where only speeds behave so, else asked about.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "log/channel_map.h"
#include "log/read_text.h"
#include "log/recorder.h"
#include "verify/check.h"

using namespace stopledger;
using namespace stopledger_test;

namespace {

using BareNames = std::array<const char*, 4>;

std::string bare_log(const BareNames& names, const std::function<double(double, int)>& value,
                     double hz = 20.0, const std::string& extra = "",
                     const std::function<double(double)>& extra_value = {}) {
  std::string text = "Time (s)";
  for (const auto* name : names) text += fmt::format(",{}", name);
  text += (extra.empty() ? "" : "," + extra) + "\n";
  for (int row = 0; row < static_cast<int>(40.0 * hz); ++row) {
    const double t = row / hz;
    text += fmt::format("{:.3f}", t);
    for (int wheel = 0; wheel < 4; ++wheel) text += fmt::format(",{:.1f}", value(t, wheel));
    if (!extra.empty()) text += fmt::format(",{:.1f}", extra_value(t));
    text += '\n';
  }
  return text;
}

double wheel_kmh(double t, int wheel) { return drive_kmh(t, 40.0, wheel); }

/// A pedal pressed for two seconds in every ten: 0.3 s up, 0.2 s down, the rear half of the front.
double pedal_bar(double t, int wheel, double front, double rear) {
  const double u = std::fmod(t, 10.0) - 5.0;
  const double share = u < 0.0   ? 0.0
                       : u < 0.3 ? u / 0.3
                       : u < 2.0 ? 1.0
                       : u < 2.2 ? (2.2 - u) / 0.2
                                 : 0.0;
  return share * (wheel < 2 ? front : rear);
}

bool notes_say(const Log& log, const std::string& text) {
  return std::any_of(log.notes.begin(), log.notes.end(),
                     [&](const std::string& note) { return note.find(text) != std::string::npos; });
}

}  // namespace

TEST_CASE("bare wheel names that behave as speeds are taken, and it is said", "[log][bare]") {
  for (const BareNames& names :
       {BareNames{"LF", "RF", "LR", "RR"}, BareNames{"FL", "FR", "RL", "RR"},
        BareNames{"VL", "VR", "HL", "HR"}, BareNames{"AVG", "AVD", "ARG", "ARD"}}) {
    const auto log = read(bare_log(names, wheel_kmh));
    INFO(names[0]);
    for (const auto* role :
         {"wheel_speed.FL", "wheel_speed.FR", "wheel_speed.RL", "wheel_speed.RR"})
      CHECK(log.find(*parse_role(role)) != nullptr);
    CHECK(notes_say(log, "no more than the wheel; taken for its speed, because they are alike"));
    CHECK(log.questions.empty());
  }
}

TEST_CASE("bare wheel names are taken in any unit beside the car's own speed", "[log][bare]") {
  for (const double unit : {1.0, 1.0 / 1.609344, 1.0 / 3.6}) {
    const auto log = read(bare_log(
        {"LF", "RF", "LR", "RR"}, [&](double t, int wheel) { return unit * wheel_kmh(t, wheel); },
        5.0, "Vehicle speed (km/h)", [](double t) { return drive_kmh(t); }));
    INFO("unit " << unit);
    CHECK(channel(log, "wheel_speed.RL").unit_known);
    CHECK(notes_say(log, "they go with the car's own speed"));
  }
}

TEST_CASE("bare wheel names that may be pressures are asked about", "[log][bare]") {
  struct Kind {
    const char* what;
    std::function<double(double, int)> value;
  };
  const std::vector<Kind> kinds{
      {"gentle pedal, 20 bar at all wheels",
       [](double t, int w) { return pedal_bar(t, w, 20, 20); }},
      {"hard pedal, 80 bar at all wheels", [](double t, int w) { return pedal_bar(t, w, 80, 80); }},
      {"hard pedal, rear limited", [](double t, int w) { return pedal_bar(t, w, 80, 35); }},
      {"tyre pressures", [](double, int w) { return 2.2 + 0.1 * w; }},
      {"temperatures far apart", [](double t, int w) { return 40.0 + t * (1.0 + w); }},
      {"below zero", [](double t, int w) { return wheel_kmh(t, w) - 30.0; }}};
  for (const Kind& kind : kinds) {
    const auto log = read(bare_log({"LF", "RF", "LR", "RR"}, kind.value));
    INFO(kind.what);
    CHECK(log.channels.empty());
    REQUIRE(log.questions.size() == 4);
    CHECK(log.questions[1].suggestion == parse_role("wheel_speed.FR"));
    // The written map answers the question by taking away a mark.
    const auto map = write_channel_map(log);
    CHECK(map.find("# column = \"RF\"\n# role = \"wheel_speed.FR\"") != std::string::npos);
  }
}

TEST_CASE("a pressure is no speed although the car's speed is beside it", "[log][bare]") {
  const auto log = read(bare_log(
      {"LF", "RF", "LR", "RR"}, [](double t, int w) { return pedal_bar(t, w, 60, 60); }, 20.0,
      "Vehicle speed (km/h)", [](double t) { return drive_kmh(t); }));
  CHECK(log.find(*parse_role("wheel_speed.FL")) == nullptr);
  CHECK(notes_say(log, "they do not go with the car's own speed"));
}

TEST_CASE("a check without a stop tells of speeds that were not taken", "[verify][check][bare]") {
  // Once a second a pressure and a speed look alike.
  const auto log = read(bare_log(
      {"LF", "RF", "LR", "RR"}, [](double t, int w) { return 0.7 * wheel_kmh(t, w); }, 1.0));
  REQUIRE(log.questions.size() == 4);
  const auto outcome = check_logs({&log, 1}, {}, nullptr);
  for (const Corner corner : all_corners) {
    INFO(outcome.corners[corner].reason);
    CHECK(outcome.corners[corner].reason.find("may be wheel speeds (\"LF\", \"RF\"") !=
          std::string::npos);
  }
  const auto finding = std::find_if(outcome.findings.begin(), outcome.findings.end(),
                                    [](const Finding& one) { return one.id == "no-stop-found"; });
  REQUIRE(finding != outcome.findings.end());
  CHECK(finding->text.find("may be wheel speeds (\"LF\", \"RF\", \"LR\", \"RR\")") !=
        std::string::npos);
}
