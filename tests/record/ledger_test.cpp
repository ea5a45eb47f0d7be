#include "record/ledger.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "base/error.h"
#include "base/written_day.h"
#include "record/digest.h"
#include "record/history.h"
#include "record/temporary.h"

using namespace stopledger;
using stopledger::testing::day;

namespace {

const EntryStamp entered{"2026-11-25T10:00:00Z", "A. Person"};

CarSheet two_valve_sheet(const std::string& name) {
  CarSheet sheet;
  sheet.facts.name = name;
  sheet.facts.unit_kind = UnitKind::two_valve;
  return sheet;
}

Record dated_fact(const std::string& car, const std::string& kind, Day when) {
  Record record;
  record.car = car;
  record.kind = kind;
  record.day = when;
  record.who = "A. Person";
  return record;
}

/// "kind day" of the newest table's rows of a kind.
std::string newest_day(const Ledger& ledger, const std::string& car, const std::string& kind) {
  for (const auto& row : ledger.newest_of(car))
    if (row.kind == kind) return format_day(row.day);
  return "none";
}

}  // namespace

TEST_CASE("what was saved is there when the ledger is opened again", "[record][ledger]") {
  const Temporary folder;
  const auto path = folder.file("my ledger.db");
  std::int64_t id = 0;
  {
    Ledger ledger(path, Ledger::Mode::create);
    ledger.add_car(two_valve_sheet("Blue wagon"), entered);
    auto record = dated_fact("blue WAGON", "fluid-change", day("2026-05-03"));
    record.odometer_km = 45210.0;
    record.odometer_written = "45210 km";
    record.fields["grade"] = {"DOT 4", std::nullopt};
    record.fields["fl"] = {"6 fl oz", 177.4};
    record.signed_by = "B. Person";
    record.note = "cap cleaned; \xC3\xA4\xF0\x9F\x94\xA7";
    id = ledger.add_record(record, entered).id;
  }
  const Ledger ledger(path, Ledger::Mode::read);
  const auto records = ledger.records_of("Blue wagon");
  REQUIRE(records.size() == 1);
  CHECK(records[0].id == id);
  CHECK(records[0].uid.size() == 32);
  CHECK(records[0].car == "Blue wagon");
  CHECK(records[0].day == day("2026-05-03"));
  CHECK(records[0].odometer_km == 45210.0);
  CHECK(records[0].fields.at("fl").written == "6 fl oz");
  CHECK(records[0].fields.at("fl").normalised == 177.4);
  CHECK(records[0].signed_by == "B. Person");
  CHECK(records[0].note == "cap cleaned; \xC3\xA4\xF0\x9F\x94\xA7");
  CHECK(records[0].entered_at == entered.at_utc);
  CHECK(ledger.find_car("Blue wagon")->facts.unit_kind == UnitKind::two_valve);
}

TEST_CASE("a correction supersedes and a removal is marked", "[record][ledger]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(two_valve_sheet("Blue wagon"), entered);
  const auto first =
      ledger.add_record(dated_fact("Blue wagon", "lamp-check", day("2026-05-03")), entered);
  const auto second =
      ledger.correct(first.id, dated_fact("Blue wagon", "lamp-check", day("2026-05-04")), entered);
  CHECK(second.supersedes == first.uid);
  CHECK(ledger.record(first.id).superseded_by == second.uid);
  CHECK(ledger.records_of("Blue wagon").size() == 1);
  CHECK(ledger.records_of("Blue wagon", true).size() == 2);
  CHECK_THROWS_WITH(
      ledger.correct(first.id, dated_fact("Blue wagon", "lamp-check", day("2026-05-05")), entered),
      Catch::Contains("#" + std::to_string(second.id)));
  CHECK_THROWS_AS(ledger.remove(second.id, "", entered), Error);
  ledger.remove(second.id, "typed twice", entered);
  CHECK(ledger.records_of("Blue wagon").empty());
  CHECK(ledger.record(second.id).removal_reason == "typed twice");
  CHECK_THROWS_WITH(ledger.remove(second.id, "again", entered), Catch::Contains("removed already"));
  CHECK_THROWS_WITH(ledger.record(4711), Catch::Contains("no record #4711"));
}

TEST_CASE("the newest table follows corrections, removals and back-dated entries",
          "[record][ledger][newest]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(two_valve_sheet("Blue wagon"), entered);
  CHECK(newest_day(ledger, "Blue wagon", "odometer") == "none");
  const auto a =
      ledger.add_record(dated_fact("Blue wagon", "odometer", day("2026-05-03")), entered);
  const auto b =
      ledger.add_record(dated_fact("Blue wagon", "odometer", day("2026-06-03")), entered);
  ledger.add_record(dated_fact("Blue wagon", "odometer", day("2026-04-01")), entered);
  CHECK(newest_day(ledger, "Blue wagon", "odometer") == "2026-06-03");
  ledger.correct(b.id, dated_fact("Blue wagon", "odometer", day("2026-03-01")), entered);
  CHECK(newest_day(ledger, "Blue wagon", "odometer") == "2026-05-03");
  ledger.remove(a.id, "another car's", entered);
  CHECK(newest_day(ledger, "Blue wagon", "odometer") == "2026-04-01");
}

TEST_CASE("newest keeps subjects and results apart", "[record][ledger][newest]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(two_valve_sheet("Blue wagon"), entered);
  auto record = dated_fact("Blue wagon", "exercise", day("2026-05-03"));
  for (const char* result : {"exercised", "suspect"})
    for (const char* procedure : {"stop-fronts", "stop-rears"}) {
      record.fields["result"] = {result, std::nullopt};
      record.fields["procedure"] = {procedure, std::nullopt};
      ledger.add_record(record, entered);
    }
  CHECK(ledger.newest_of("Blue wagon").size() == 4);
  CHECK(ledger.newest_of_all().size() == 4);
}

TEST_CASE("a fault stays open until a standing repair names it", "[record][ledger][fault]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(two_valve_sheet("Blue wagon"), entered);
  const auto fault =
      ledger.add_record(dated_fact("Blue wagon", "fault", day("2026-05-03")), entered);
  CHECK(ledger.open_faults("Blue wagon").size() == 1);
  auto repair = dated_fact("Blue wagon", "repair", day("2026-05-09"));
  repair.fields["fault"] = {fault.uid, std::nullopt};
  const auto done = ledger.add_record(repair, entered);
  CHECK(ledger.open_faults("Blue wagon").empty());
  // The fault's text is corrected afterwards: still the same fault, still closed.
  ledger.correct(fault.id, dated_fact("Blue wagon", "fault", day("2026-05-02")), entered);
  CHECK(ledger.open_faults("Blue wagon").empty());
  ledger.remove(done.id, "was not done", entered);
  CHECK(ledger.open_faults("Blue wagon").size() == 1);
}

TEST_CASE("a saved check keeps its logs byte for byte", "[record][ledger][check]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(two_valve_sheet("Blue wagon"), entered);
  CheckToSave check;
  check.car = "Blue wagon";
  check.day = day("2026-05-03");
  check.procedure = "stop-fronts";
  std::string bytes("time,v\n0,1\0\xFF\r\n", 15);
  for (int i = 0; i < 1000; ++i) bytes += "0.05,12.5\n";
  check.logs = {{.name = "stop 1.csv", .bytes = bytes, .role = FileRole::log, .sha256 = {}},
                {.name = "empty.csv", .bytes = "", .role = FileRole::log, .sha256 = {}}};
  check.outcome.corners[Corner::fl].result = Result::exercised;
  check.outcome_json = R"({"schema":"stopledger.check/1"})";
  check.engine = "0.1.0";
  const auto record = ledger.save_check(check, entered);
  CHECK(record.kind == "exercise");
  CHECK(record.fields.at("fl").written == "exercised");
  CHECK(record.fields.at("fr").written == "unseen");
  const auto logs = ledger.logs_of(record.id);
  REQUIRE(logs.size() == 2);
  CHECK(logs[0].name == "stop 1.csv");
  CHECK(logs[0].bytes == bytes);
  CHECK(logs[0].sha256 == sha256_hex(bytes));
  CHECK(logs[1].bytes.empty());
  ledger.add_outcome(record.id, "{}", "0.2.0", entered);
  const auto checks = ledger.checks_of(record.id);
  REQUIRE(checks.size() == 2);
  CHECK(checks[0].outcome_json == check.outcome_json);
  CHECK(checks[1].engine == "0.2.0");
}

TEST_CASE("SHA-256 gives the values of FIPS 180-4's examples", "[record][digest][LG01]") {
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}

TEST_CASE("plans are kept until they are closed", "[record][ledger][plan]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(two_valve_sheet("Blue wagon"), entered);
  const auto id = ledger.add_plan("Blue wagon", day("2026-05-03"), R"({"stops":3})", entered);
  CHECK(ledger.plans_of("Blue wagon").at(0).open);
  ledger.end_plan(id, "done", entered);
  CHECK_FALSE(ledger.plans_of("Blue wagon").at(0).open);
  CHECK(ledger.plans_of("Blue wagon").at(0).body_json == R"({"stops":3})");
  CHECK_THROWS_WITH(ledger.end_plan(id, "done", entered), Catch::Contains("closed already"));
}

TEST_CASE("nothing of a transaction that fails half-way is left", "[record][ledger]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(two_valve_sheet("Blue wagon"), entered);
  const auto before = ledger.last_digest();
  CHECK_THROWS_AS(
      ledger.add_record(dated_fact("No such car", "odometer", day("2026-05-03")), entered), Error);
  ledger.begin();
  ledger.add_record(dated_fact("Blue wagon", "odometer", day("2026-05-03")), entered);
  ledger.rollback();
  CHECK(ledger.last_digest() == before);
  auto record = dated_fact("Blue wagon", "note", day("2026-05-03"));
  record.fields["text"] = {"not \xFF text", std::nullopt};
  CHECK_THROWS_AS(ledger.add_record(record, entered), Error);
  CHECK(ledger.last_digest() == before);
  CHECK(ledger.records_of("Blue wagon", true).empty());
}

TEST_CASE("files that are no ledger are refused and left alone", "[record][ledger]") {
  const Temporary folder;
  const auto write = [&](const std::string& name, const std::string& text) {
    std::ofstream(folder.file(name)) << text;
    return folder.file(name);
  };
  const auto refused = [](const std::string& path, Ledger::Mode mode) {
    try {
      const Ledger ledger(path, mode);
    } catch (const Error& error) {
      return std::string(error.what());
    }
    return std::string("taken");
  };
  CHECK_THAT(refused(folder.file("missing.db"), Ledger::Mode::read), Catch::Contains("no ledger"));
  CHECK_FALSE(std::filesystem::exists(folder.file("missing.db")));
  CHECK_THAT(refused(folder.file(""), Ledger::Mode::create), Catch::Contains("folder"));
  CHECK_THAT(refused(folder.file("lost/l.db"), Ledger::Mode::create), Catch::Contains("no folder"));
  CHECK_FALSE(std::filesystem::exists(folder.file("lost")));
  const auto text = write("text.db", std::string(5000, 'x'));
  CHECK_THAT(refused(text, Ledger::Mode::create), Catch::Contains("not an SQLite file"));
  CHECK(std::filesystem::file_size(text) == 5000);
  CHECK_THAT(refused(write("empty.db", ""), Ledger::Mode::read), Catch::Contains("is empty"));
}

TEST_CASE("the last answer of a corner and what was changed since", "[record][history]") {
  std::int64_t id = 0;
  const auto made = [&](const std::string& kind, Day when, const std::string& field,
                        const std::string& value) {
    auto record = dated_fact("Blue wagon", kind, when);
    record.id = ++id;
    record.uid = std::to_string(id);
    record.fields[field] = {value, std::nullopt};
    return record;
  };
  std::vector<Record> records{made("exercise", day("2024-05-01"), "rl", "exercised"),
                              made("change", day("2025-03-01"), "what", "tyres"),
                              made("valve-test", day("2025-04-01"), "rl.release", "yes"),
                              made("change", day("2025-09-01"), "what", "wiring"),
                              made("exercise", day("2026-05-01"), "rl", "suspect"),
                              made("exercise", day("2026-06-01"), "rl", "unseen")};
  auto answer = last_answer(records, Corner::rl);
  REQUIRE(answer.answered);
  CHECK(answer.answered->day == day("2025-04-01"));
  REQUIRE(answer.changed_since.size() == 1);
  CHECK(answer.changed_since[0].fields.at("what").written == "wiring");
  REQUIRE(answer.failed_since.size() == 1);
  CHECK(answer.failed_since[0].day == day("2026-05-01"));

  records[2].removed = true;
  answer = last_answer(records, Corner::rl);
  CHECK(answer.answered->day == day("2024-05-01"));
  CHECK(answer.changed_since.size() == 2);
  CHECK_FALSE(last_answer(records, Corner::fl).answered);
}

TEST_CASE("changes since traction control last answered, by what the kept checks say",
          "[record][history]") {
  std::int64_t id = 0;
  std::vector<Record> records;
  for (const auto& [kind, when] :
       {std::pair{"exercise", "2024-05-01"}, std::pair{"change", "2024-09-01"},
        std::pair{"exercise", "2025-05-01"}, std::pair{"part", "2025-10-01"},
        std::pair{"exercise", "2026-05-01"}}) {
    records.push_back(dated_fact("Blue wagon", kind, day(when)));
    records.back().id = ++id;
    records.back().uid = std::to_string(id);
  }
  const auto acted = [](const Record& record) -> std::optional<bool> {
    if (record.kind != "exercise") return std::nullopt;
    if (record.id == 5) return false;
    return record.id == 1 ? std::optional(true) : std::nullopt;
  };
  const LastAnswer answer = last_answer_by(records, acted);
  REQUIRE(answer.answered);
  CHECK(answer.answered->id == 1);
  REQUIRE(answer.changed_since.size() == 2);
  CHECK(answer.changed_since[0].kind == "change");
  CHECK(answer.changed_since[1].kind == "part");
  REQUIRE(answer.failed_since.size() == 1);
  CHECK(answer.failed_since[0].id == 5);
}
