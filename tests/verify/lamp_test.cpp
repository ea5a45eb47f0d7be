// A warning lamp that stays lit while the car drives (AB-04).
#include "verify/lamp.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "hand_made.h"
#include "report/check_text.h"
#include "report/check_words.h"
#include "verify/check.h"

using namespace stopledger;
using test::HandMade;

namespace {

const Role lamp_role = Role::of_car(QuantityKind::warning_lamp);

/// 43 km/h for 2 s, a stop in 3 s, 3 s at rest; the lamp as `lit` says.
template <typename Lit>
HandMade with_lamp(Lit lit) {
  HandMade hand(12.0, 4.0, 2.0, 8.0);
  const std::vector<double> t_s = hand.log.channels.front().series.t_s;
  hand.add(lamp_role);
  for (const double t : t_s) {
    hand.at(lamp_role).t_s.push_back(t);
    hand.at(lamp_role).value.push_back(lit(t) ? 1.0 : 0.0);
  }
  hand.log.channels.back().samples = t_s.size();
  return hand;
}

bool says_lamp_lit(const Log& log) {
  const CheckOutcome outcome = check_logs({&log, 1}, {}, nullptr);
  return std::any_of(outcome.findings.begin(), outcome.findings.end(),
                     [](const Finding& finding) { return finding.id == "lamp-lit"; });
}

}  // namespace

TEST_CASE("a lamp that stays lit while driving is a fault", "[verify][lamp][AB-04]") {
  const HandMade hand = with_lamp([](double) { return true; });
  CHECK(says_lamp_lit(hand.log));
  // 12 m/s to 15 km/h (4.17 m/s) at 4 m/s2 takes 1.96 s, after 2 s of rolling.
  const auto lit = lamp_lit_driving_s(prepare_log(hand.log, 0, {}));
  CHECK(lit.value_or(0.0) == Approx(3.96).margin(0.1));  // the estimate rounds the onset
  CHECK(check_answer(check_logs({&hand.log, 1}, {}, nullptr)).warning.starts_with("DO NOT DRIVE"));
}

TEST_CASE("a lamp that flashes with the control is none", "[verify][lamp]") {
  CHECK_FALSE(says_lamp_lit(with_lamp([](double t) { return std::fmod(t, 0.5) < 0.25; }).log));
}

TEST_CASE("a lamp lit at rest is none", "[verify][lamp]") {
  CHECK_FALSE(says_lamp_lit(with_lamp([](double t) { return t > 4.5; }).log));
}

TEST_CASE("a log of which nothing was understood is not asked for its braking", "[verify][check]") {
  Log log;
  log.file = "odd.csv";
  log.duration_s = 10.0;
  log.segments = {{0.0, 10.0}};
  const CheckOutcome outcome = check_logs({&log, 1}, {}, nullptr);
  const auto finding = std::find_if(outcome.findings.begin(), outcome.findings.end(),
                                    [](const Finding& one) { return one.id == "no-stop-found"; });
  REQUIRE(finding != outcome.findings.end());
  CHECK(finding->text.find("--write-map") != std::string::npos);
  CHECK(outcome.record_next.empty());
}

TEST_CASE("columns that are not used are named, each once", "[report][check]") {
  HandMade hand(12.0, 4.0, 2.0, 6.0);
  hand.log.unused_columns = {"Coolant", "LF"};
  hand.log.notes = {"\"LF\" is not used: it names FL, but not what of it"};
  const Log log = hand.log;
  const std::string text = check_text(check_logs({&log, 1}, {}, nullptr), {&log, 1}, {});
  CHECK(text.find("not used: \"Coolant\"\n") != std::string::npos);
  CHECK(text.find("\"LF\"") == text.rfind("\"LF\""));
}
