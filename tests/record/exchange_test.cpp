#include "record/exchange.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <sstream>

#include "base/error.h"
#include "record/digest.h"
#include "record/temporary.h"
#include "record/verify.h"

using namespace stopledger;

namespace {

const EntryStamp stamp{"2026-11-25T10:00:00Z", "A. Person"};

CarSheet sheet_of(const std::string& name) {
  CarSheet sheet;
  sheet.facts.name = name;
  return sheet;
}

Record fact(const std::string& car, const std::string& kind, const char* when) {
  Record record;
  record.car = car;
  record.kind = kind;
  record.day = *parse_day(when);
  record.who = "A. Person";
  return record;
}

/// Two cars with something of every kind of entry.
Ledger filled(const std::string& path) {
  Ledger ledger(path, Ledger::Mode::create);
  ledger.add_car(sheet_of("Blue wagon"), stamp);
  ledger.add_car(sheet_of("Grey van"), stamp);
  for (const char* car : {"Blue wagon", "Grey van"}) {
    auto record = fact(car, "fluid-change", "2026-05-03");
    record.odometer_km = 72758.441904;
    record.odometer_written = "45210 mi";
    record.fields["fl"] = {"6 fl oz", 177.441177375};
    record.fields["waste"] = {std::string("depot, \"north\"\nof ") + car, std::nullopt};
    const auto saved = ledger.add_record(record, stamp);
    ledger.correct(saved.id, record, stamp);
    const auto wrong = ledger.add_record(fact(car, "note", "2026-05-04"), stamp);
    ledger.remove(wrong.id, "typed twice", stamp);
    CheckToSave check;
    check.car = car;
    check.day = *parse_day("2026-06-01");
    check.logs = {{.name = "s.csv",
                   .bytes = std::string("t,v\n0,1\0\n", 9) + car,
                   .role = FileRole::log,
                   .sha256 = {}}};
    check.outcome_json = "{}";
    check.engine = "0.1.0";
    ledger.save_check(check, stamp);
    ledger.end_plan(ledger.add_plan(car, *parse_day("2026-07-01"), "{}", stamp), "done", stamp);
  }
  return ledger;
}

std::string whole(const Ledger& ledger) {
  std::ostringstream out;
  export_ledger(ledger, out);
  return out.str();
}

std::string one_car(const Ledger& ledger, const std::string& car) {
  std::ostringstream out;
  export_car(ledger, car, {}, out);
  return out.str();
}

ImportReport read(Ledger& ledger, const std::string& text, const std::string& rename = {}) {
  std::istringstream in(text);
  return import_entries(ledger, in, "x.jsonl", rename, stamp);
}

bool sound(Ledger& ledger) {
  const auto found = verify_ledger(ledger, true, "");
  for (const auto& problem : found.problems) UNSCOPED_INFO(problem);
  return found.problems.empty() && found.repaired.empty();
}

}  // namespace

TEST_CASE("export, import into an empty ledger, export again: the same bytes",
          "[record][exchange]") {
  const Temporary folder;
  const auto first = filled(folder.file("a.db"));
  Ledger second(folder.file("b.db"), Ledger::Mode::create);
  const auto text = whole(first);
  const auto report = read(second, text);
  CHECK(report.cars == std::vector<std::string>{"Blue wagon", "Grey van"});
  CHECK(whole(second) == text);
  CHECK(second.last_digest() == first.last_digest());
  CHECK(second.newest_of("Grey van").size() == first.newest_of("Grey van").size());
  CHECK(sound(second));
  const auto again = read(second, text);
  CHECK(again.added == 0);
  CHECK(again.known == report.added);
}

TEST_CASE("one car goes out with nothing of the others", "[record][exchange]") {
  const Temporary folder;
  const auto ledger = filled(folder.file("a.db"));
  const auto text = one_car(ledger, "blue wagon");
  CHECK_THAT(text, Catch::Contains("Blue wagon") && !Catch::Contains("Grey van"));
  CHECK_THAT(text,
             !Catch::Contains(encode_base64(pack(std::string("t,v\n0,1\0\n", 9) + "Grey van"))));
  Ledger other(folder.file("b.db"), Ledger::Mode::create);
  read(other, text);
  CHECK(other.cars().size() == 1);
  CHECK(one_car(other, "Blue wagon") == text);
}

TEST_CASE("both sides' records come together without doubles or loss", "[record][exchange]") {
  const Temporary folder;
  auto owner = filled(folder.file("owner.db"));
  Ledger shop(folder.file("shop.db"), Ledger::Mode::create);
  read(shop, one_car(owner, "Blue wagon"));
  const auto before = owner.records_of("Blue wagon").size();
  owner.add_record(fact("Blue wagon", "odometer", "2026-08-01"), stamp);
  shop.add_record(fact("Blue wagon", "repair", "2026-08-02"), stamp);
  CHECK(read(owner, one_car(shop, "Blue wagon")).conflicts.empty());
  CHECK(read(shop, one_car(owner, "Blue wagon")).conflicts.empty());
  CHECK(owner.records_of("Blue wagon").size() == before + 2);
  CHECK(shop.records_of("Blue wagon").size() == before + 2);
  CHECK(owner.records_of("Grey van").size() == before);
  CHECK(sound(owner));
  CHECK(sound(shop));
}

TEST_CASE("what both sides changed is shown and settles alike", "[record][exchange]") {
  const Temporary folder;
  auto owner = filled(folder.file("owner.db"));
  const auto fluid = owner.newest_of("Blue wagon").front().record;
  const auto uid = owner.record(fluid).uid;
  Ledger shop(folder.file("shop.db"), Ledger::Mode::create);
  read(shop, one_car(owner, "Blue wagon"));
  const auto at_shop = shop.record_by_uid(uid)->id;
  owner.correct(fluid, fact("Blue wagon", owner.record(fluid).kind, "2026-05-05"), stamp);
  shop.correct(at_shop, fact("Blue wagon", owner.record(fluid).kind, "2026-05-06"), stamp);
  auto sheet = owner.car("Blue wagon");
  sheet.facts.track_m = 1.4;
  owner.edit_car("Blue wagon", sheet, "measured", {"2026-11-26T10:00:00Z", "A. Person"});
  sheet.facts.track_m = 1.5;
  shop.edit_car("Blue wagon", sheet, "measured", {"2026-11-27T10:00:00Z", "B. Person"});
  const auto from_owner = one_car(owner, "Blue wagon");
  const auto here = read(owner, one_car(shop, "Blue wagon")).conflicts;
  REQUIRE(here.size() == 2);
  CHECK_THAT(here[0], Catch::Contains("corrected on both sides"));
  CHECK_THAT(here[1], Catch::Contains("track: 1500 mm, not 1400 mm"));
  CHECK(read(shop, from_owner).conflicts.size() == 2);
  CHECK(*owner.car("Blue wagon").facts.track_m == Approx(1.5));
  CHECK(*shop.car("Blue wagon").facts.track_m == Approx(1.5));
  CHECK(sound(owner));
  // A later edit here settles it on both sides.
  sheet.facts.track_m = 1.45;
  owner.edit_car("Blue wagon", sheet, "measured again", stamp);
  CHECK(read(shop, one_car(owner, "Blue wagon")).conflicts.empty());
  CHECK(*shop.car("Blue wagon").facts.track_m == Approx(1.45));
}

TEST_CASE("another car of the same name needs another name", "[record][exchange]") {
  const Temporary folder;
  const auto sender = filled(folder.file("a.db"));
  Ledger ledger(folder.file("b.db"), Ledger::Mode::create);
  ledger.add_car(sheet_of("BLUE WAGON"), stamp);
  const auto before = ledger.last_digest();
  CHECK_THROWS_WITH(read(ledger, one_car(sender, "Blue wagon")), Catch::Contains("--as"));
  CHECK(ledger.last_digest() == before);
  CHECK(read(ledger, one_car(sender, "Blue wagon"), "Club wagon").cars ==
        std::vector<std::string>{"Club wagon"});
  CHECK(ledger.cars().size() == 2);
  CHECK(sound(ledger));
}

TEST_CASE("a file that was cut short, altered or is something else is refused whole",
          "[record][exchange]") {
  const Temporary folder;
  const auto text = whole(filled(folder.file("a.db")));
  Ledger ledger(folder.file("b.db"), Ledger::Mode::create);
  const auto refused = [&](const std::string& changed) {
    try {
      read(ledger, changed);
    } catch (const Error& error) {
      CHECK(ledger.last_digest().empty());
      return std::string(error.what());
    }
    return std::string("taken");
  };
  const auto lines = static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
  std::size_t from = 0;
  for (std::size_t line = 0; line < lines; ++line) {  // every cut between two lines
    CHECK_THAT(refused(text.substr(0, from)), Catch::Contains("x.jsonl:"));
    from = text.find('\n', from) + 1;
  }
  for (std::size_t at = 0; at < text.size();
       at += 97) {  // a cut anywhere, a changed letter anywhere
    CHECK(refused(text.substr(0, at)) != "taken");
    auto changed = text;
    changed[at] = changed[at] == 'e' ? 'f' : 'e';
    CHECK(refused(changed) != "taken");
  }
  CHECK_THAT(refused("{\"format\":\"stopledger.ledger/2\",\"scope\":\"car\"}\n"),
             Catch::Contains("newer stopledger"));
  CHECK_THAT(refused("date,km\n"), Catch::Contains("x.jsonl:1"));
  CHECK(refused("") != "taken");
}

TEST_CASE("what was altered behind the ledger's back is found", "[record][verify]") {
  const Temporary folder;
  const auto altered = [&](const std::string& sql) {
    const auto path = folder.file("l.db");
    std::filesystem::remove(path);
    filled(path);
    {
      SQLite::Database database(path, SQLite::OPEN_READWRITE);
      database.exec(sql);
    }
    Ledger ledger(path, Ledger::Mode::write);
    const auto found = verify_ledger(ledger, true, "");
    std::string all;
    for (const auto& problem : found.problems) all += problem + "\n";
    for (const auto& repaired : found.repaired) all += "repaired " + repaired + "\n";
    return all;
  };
  CHECK(altered("SELECT 1").empty());
  CHECK_THAT(altered("UPDATE record SET day = '2026-05-02' WHERE id = 5"),
             Catch::Contains("entry 5 was altered"));
  CHECK_THAT(altered("UPDATE field SET written = '60 fl oz' WHERE record = 5 AND name = 'fl'"),
             Catch::Contains("entry 5 was altered"));
  CHECK_THAT(altered("DELETE FROM removal"), Catch::Contains("lost its row"));
  CHECK_THAT(altered("DELETE FROM field WHERE record = 5; DELETE FROM entry WHERE id = 5"),
             Catch::Contains("has no entry"));
  CHECK_THAT(altered("UPDATE content SET packed = substr(packed, 1, 10)"),
             Catch::Contains("kept file"));
  CHECK_THAT(altered("UPDATE \"check\" SET outcome = '{'"), Catch::Contains("no JSON"));
  CHECK_THAT(altered("UPDATE newest SET day = '2030-01-01'"), Catch::StartsWith("repaired"));
  CHECK_THAT(altered("DELETE FROM newest"), Catch::StartsWith("repaired"));
  CHECK_THAT(altered("UPDATE car SET name = 'Other' WHERE name = 'Grey van'"),
             Catch::StartsWith("repaired"));
}

TEST_CASE("a printed digest is found again in the chain", "[record][verify]") {
  const Temporary folder;
  auto ledger = filled(folder.file("l.db"));
  const auto printed = ledger.last_digest();
  ledger.add_record(fact("Grey van", "odometer", "2026-09-01"), stamp);
  CHECK(verify_ledger(ledger, false, printed).digest_entry);
  CHECK_FALSE(verify_ledger(ledger, false, std::string(64, '0')).digest_entry);
}

TEST_CASE("a backup is a ledger of its own and overwrites nothing", "[record][verify]") {
  const Temporary folder;
  const auto ledger = filled(folder.file("l.db"));
  CHECK(backup_ledger(ledger, folder.file("copy.db")).problems.empty());
  CHECK(whole(Ledger(folder.file("copy.db"), Ledger::Mode::read)) == whole(ledger));
  CHECK_THROWS_WITH(backup_ledger(ledger, folder.file("copy.db")), Catch::Contains("exists"));
}

TEST_CASE("a write-protected ledger can be read and refuses to be written", "[record][ledger]") {
  const Temporary folder;
  const auto path = folder.file("l.db");
  filled(path);
  std::filesystem::permissions(path, std::filesystem::perms::owner_read);
  const Ledger ledger(path, Ledger::Mode::read);
  CHECK(ledger.records_of("Grey van").size() == 2);
  if (geteuid() == 0) return;  // root may write everything
  Ledger writer(path, Ledger::Mode::write);
  CHECK(writer.read_only());
  CHECK_THROWS_WITH(writer.add_record(fact("Grey van", "odometer", "2026-09-01"), stamp),
                    Catch::Contains("read-only"));
}

TEST_CASE("while another writes, the wait ends with a clear message", "[record][ledger]") {
  const Temporary folder;
  const auto path = folder.file("l.db");
  auto first = filled(path);
  Ledger second(path, Ledger::Mode::write, 50);
  first.begin();
  CHECK_THROWS_WITH(second.add_record(fact("Grey van", "odometer", "2026-09-01"), stamp),
                    Catch::Contains("another program is using the ledger (waited 0.05 s)"));
  first.commit();
  CHECK_NOTHROW(second.add_record(fact("Grey van", "odometer", "2026-09-01"), stamp));
}

TEST_CASE("an older schema is brought up to date after a copy", "[record][ledger][migration]") {
  const Temporary folder;
  const auto path = folder.file("l.db");
  const auto deciding = filled(path).deciding_records_of("Grey van").size();
  REQUIRE(deciding > 0);
  const auto text = whole(Ledger(path, Ledger::Mode::read));
  {  // what schema 1 did not have
    SQLite::Database database(path, SQLite::OPEN_READWRITE);
    database.exec("DROP TABLE brief; PRAGMA user_version = 1");
  }
  Ledger ledger(path, Ledger::Mode::read);
  REQUIRE(ledger.notices().size() == 1);
  CHECK_THAT(ledger.notices()[0], Catch::Contains("l.db.schema-1"));
  CHECK(ledger.deciding_records_of("Grey van").size() == deciding);
  CHECK(whole(ledger) == text);
  const SQLite::Database copy(path + ".schema-1", SQLite::OPEN_READONLY);
  CHECK_FALSE(copy.tableExists("brief"));
  CHECK(Ledger(path, Ledger::Mode::read).notices().empty());
}

TEST_CASE("the records that decide are the standing ones, with thinned readings",
          "[record][ledger][brief]") {
  const Temporary folder;
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.add_car(sheet_of("Blue wagon"), stamp);
  ledger.begin();
  for (int week = 0; week < 520; ++week) {  // ten years of weekly readings
    auto record = fact("Blue wagon", "odometer", "2016-01-03");
    record.day = add_days(record.day, 7 * week);
    record.odometer_km = 10000.0 + 100.5 * week;
    ledger.add_record(record, stamp);
  }
  auto fault = fact("Blue wagon", "fault", "2018-05-05");
  fault.fields["what"] = {"lamp: 3:4", std::nullopt};
  fault.fields["level"] = {"12,5 %", 12.5};
  const auto first = ledger.add_record(fault, stamp);
  ledger.add_record(fault, stamp);
  ledger.commit();
  ledger.remove(first.id, "typed twice", stamp);
  const auto records = ledger.deciding_records_of("Blue wagon");
  // By hand: first reading, one of each year 2016 to 2022, of each quarter in the 36 months before
  // the last (2025-12-14), that is 2022-12-15 on: 1 + 7 + 1 + 12 = 21, and one fault.
  CHECK(records.size() == 22);
  CHECK(records.front().day == *parse_day("2016-01-03"));
  CHECK(records.back().day == *parse_day("2025-12-14"));
  CHECK(records.back().odometer_km == 10000.0 + 100.5 * 519);
  const auto found = std::find_if(records.begin(), records.end(),
                                  [](const Record& record) { return record.kind == "fault"; });
  REQUIRE(found != records.end());
  const auto whole_record = ledger.record(found->id);
  CHECK(found->uid == whole_record.uid);
  CHECK(found->day == whole_record.day);
  CHECK(found->entered_at == whole_record.entered_at);
  CHECK(found->fields.at("what").written == "lamp: 3:4");
  CHECK(found->fields.at("level").normalised == 12.5);
  std::size_t seen = 0;
  ledger.for_each_active_car({}, 1, [&](const ActiveCar& car) {
    ++seen;
    CHECK(car.sheet.facts.name == "Blue wagon");
    CHECK(car.deciding.size() == records.size());
  });
  CHECK(seen == 1);
}
