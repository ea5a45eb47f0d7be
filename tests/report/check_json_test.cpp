#include "report/check_json.h"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "report/check_html.h"
#include "report/check_text.h"
#include "verify/check.h"
#include "verify/modelled.h"

using namespace stopledger;
using nlohmann::json;

TEST_CASE("the document has every field of the contract", "[report][json]") {
  const model::Case c = test::stop_case(model::Surface::wet_asphalt);
  const Log log = test::recorded(c, test::block_recorder(c, 50.0));
  const CheckOutcome outcome = check_logs(std::span(&log, 1), {}, nullptr);
  const json document = json::parse(check_json(outcome, std::span(&log, 1)));
  CHECK(document["schema"] == "stopledger.check/1");
  for (const char* key : {"result", "logs", "corners", "circuits", "pump", "episodes", "findings"})
    CHECK(document.contains(key));
  for (const char* key : {"file", "sha256", "rows", "rows_skipped", "duration_s", "segments",
                          "channels", "unused_columns", "notes"})
    CHECK(document["logs"][0].contains(key));
  for (const char* key : {"role", "column", "unit", "rate_hz", "samples"})
    CHECK(document["logs"][0]["channels"][0].contains(key));
  for (const char* corner : {"FL", "FR", "RL", "RR"})
    for (const char* key :
         {"result", "enough", "reason", "evidence", "release_events", "release_events_low",
          "release_events_high", "hold_events", "cycle_rate_hz", "response", "response_delay_s",
          "answered_share", "catch_probability", "peak_slip", "locked_s"})
      CHECK(document["corners"][corner].contains(key));
  CHECK(document["corners"]["FL"]["enough"].is_null());
  for (const char* key :
       {"log",          "kind",          "start_s",    "end_s",          "v_start_kmh",
        "v_end_kmh",    "distance_m",    "mfdd_ms2",   "distance_low_m", "distance_high_m",
        "mfdd_low_ms2", "mfdd_high_ms2", "unmeasured", "estimated",      "all_locked_s",
        "two_locked_s", "modulated",     "corners",    "stability",      "traction"})
    CHECK(document["episodes"][0].contains(key));
  CHECK(document["pump"].contains("first_on_after_release_s"));
  CHECK(document["circuits"]["2"]["prime"] == "unseen");
}

TEST_CASE("what is not known is null, never 0", "[report][json]") {
  const json document = json::parse(check_json(CheckOutcome{}, {}));
  for (const char* key : {"release_events", "cycle_rate_hz", "response_delay_s", "peak_slip",
                          "locked_s", "catch_probability"})
    CHECK(document["corners"]["RR"][key].is_null());
  CHECK(document["pump"]["on_s"].is_null());
}

TEST_CASE("bytes that are not UTF-8 in a column name do not break the document", "[report][json]") {
  Log log;
  log.unused_columns = {"\xb0\xff temperature"};
  CHECK_NOTHROW(json::parse(check_json(CheckOutcome{}, std::span(&log, 1))));
}

TEST_CASE("a suspect corner forbids driving, in text and page", "[report]") {
  CheckOutcome outcome;
  outcome.result = Result::suspect;
  outcome.corners[Corner::rr].result = Result::suspect;
  CHECK(check_text(outcome, {}).find("DO NOT DRIVE") != std::string::npos);
  CHECK(check_html(outcome, {}, {}).find("DO NOT DRIVE") != std::string::npos);
}

TEST_CASE("text from a log cannot become markup", "[report][html]") {
  Log log;
  log.file = "<script>\"x\"&'y'.csv";
  const std::string page = check_html(CheckOutcome{}, std::span(&log, 1), {});
  CHECK(page.find("<script>") == std::string::npos);
  CHECK(page.find("&lt;script&gt;") != std::string::npos);
}

TEST_CASE("the page says when a corner last answered and what was changed since",
          "[report][html]") {
  const auto record = [](std::int64_t id, const char* kind, const char* day, const char* what) {
    Record r;
    r.id = id;
    r.kind = kind;
    r.day = *parse_day(day);
    r.fields["what"].written = what;
    return r;
  };
  PastAnswer rear{.subject = "RR", .last = {}};
  rear.last.answered = record(12, "exercise", "2025-06-01", "gravel");
  rear.last.changed_since.push_back(record(15, "change", "2025-07-01", "tyres <195>"));
  const PastAnswer pump{.subject = "pump", .last = {}};
  const std::vector<PastAnswer> past{rear, pump};
  const std::string page = check_html(CheckOutcome{}, {}, past);
  const auto answered = page.find("last answered 2025-06-01");
  REQUIRE(answered != std::string::npos);
  CHECK(page.find("changed since: 2025-07-01", answered) != std::string::npos);
  CHECK(page.find("tyres &lt;195&gt;", answered) != std::string::npos);
  CHECK(page.find("no record shows that it ever answered", answered) != std::string::npos);
  CHECK(check_html(CheckOutcome{}, {}, {}).find("in the ledger") == std::string::npos);
}
