#include "schedule/calendar.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "schedule/car.h"

using namespace stopledger;
using namespace stopledger::testing;

namespace {

using Status = CalendarEntry::Status;

std::vector<Procedure> calendar_rules() {
  Interval change;
  change.months = 24;
  Interval spring;
  spring.months = 12;
  spring.season_months = {4, 5, 6};
  spring.keeps_season = true;
  Interval after_run;
  after_run.after_records = {"exercise"};
  return {procedure("fluid-change", "fluid-change", change),
          procedure("valve-test", "valve-test", spring),
          procedure("after-run", "after-run", after_run)};
}

std::vector<CalendarEntry> calendar(const std::vector<Record>& records, std::int64_t revision,
                                    const char* today = "2026-11-25",
                                    const CarSheet& sheet = car()) {
  return calendar_of(sheet, records, calendar_rules(), day(today), revision, day("2026-11-20"));
}

std::vector<CalendarEntry> of(const std::vector<CalendarEntry>& all, const std::string& id) {
  std::vector<CalendarEntry> found;
  for (const auto& e : all)
    if (e.uid.starts_with(id + ".")) found.push_back(e);
  return found;
}

const CalendarEntry* by_uid(const std::vector<CalendarEntry>& all, const std::string& uid) {
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const CalendarEntry& e) { return e.uid == uid; });
  return found == all.end() ? nullptr : &*found;
}

}  // namespace

TEST_CASE("a task keeps its uid until it is done, then the old turn is closed",
          "[schedule][calendar]") {
  std::vector<Record> records;
  const auto unknown = of(calendar(records, 3), "fluid-change");
  REQUIRE(unknown.size() == 1);
  CHECK(unknown[0].status == Status::open);
  CHECK(format_day(unknown[0].day) == "2026-11-20");  // no date: the ledger's last entry

  records.push_back(record("fluid-change", "2026-11-21"));
  const auto changed = calendar(records, 4);
  const auto* old = by_uid(changed, unknown[0].uid);
  REQUIRE(old != nullptr);
  CHECK(old->status == Status::done);
  CHECK(old->sequence > unknown[0].sequence);
  const auto turns = of(changed, "fluid-change");
  REQUIRE(turns.size() == 2);
  CHECK(turns[0].status == Status::open);
  CHECK(format_day(turns[0].day) == "2028-11-21");
  CHECK(turns[0].uid != unknown[0].uid);
  CHECK(by_uid(calendar(records, 4, "2027-03-01"), turns[0].uid)->sequence == turns[0].sequence);

  records.push_back(record("fluid-change", "2027-02-01"));
  const auto again = calendar(records, 5, "2027-03-01");
  CHECK(by_uid(again, turns[0].uid)->status == Status::done);
  CHECK(by_uid(again, turns[0].uid)->sequence > turns[0].sequence);
}

TEST_CASE("a correction moves the task and cancels the turn it had", "[schedule][calendar]") {
  std::vector records{record("fluid-change", "2026-11-21")};
  const auto before = of(calendar(records, 4), "fluid-change")[0];
  auto corrected = record("fluid-change", "2025-11-21");
  corrected.supersedes = records[0].uid;
  records[0].superseded_by = corrected.uid;
  records.push_back(corrected);
  const auto after = calendar(records, 5);
  REQUIRE(by_uid(after, before.uid) != nullptr);
  CHECK(by_uid(after, before.uid)->status == Status::cancelled);
  CHECK(by_uid(after, before.uid)->sequence > before.sequence);
  CHECK(format_day(of(after, "fluid-change")[0].day) == "2027-11-21");
}

TEST_CASE("a removed record opens the turn before it again with a higher sequence",
          "[schedule][calendar]") {
  std::vector records{record("fluid-change", "2024-11-01"), record("fluid-change", "2026-11-21")};
  const auto first_uid = "fluid-change." + records[0].uid + "@stopledger";
  const auto closed = *by_uid(calendar(records, 4), first_uid);
  CHECK(closed.status == Status::done);
  records[1].removed = true;
  const auto reopened = *by_uid(calendar(records, 5), first_uid);
  CHECK(reopened.status == Status::open);
  CHECK(reopened.sequence > closed.sequence);
}

TEST_CASE("a season stands at its start, two weeks ahead, and moves on with a higher sequence",
          "[schedule][calendar][season]") {
  const std::vector records{record("valve-test", "2025-05-01")};
  const auto first = of(calendar(records, 4, "2026-02-01"), "valve-test")[0];
  CHECK(format_day(first.day) == "2026-04-01");
  CHECK(first.alarm_days == 14);
  const auto missed = of(calendar(records, 4, "2026-11-25"), "valve-test")[0];
  CHECK(missed.uid == first.uid);
  CHECK(format_day(missed.day) == "2027-04-01");  // nothing in winter
  CHECK(missed.sequence > first.sequence);
}

TEST_CASE("a sold or stored car's open tasks are cancelled", "[schedule][calendar]") {
  std::vector records{record("fluid-change", "2026-01-01")};
  const auto open = of(calendar(records, 4), "fluid-change")[0];
  auto sheet = car();
  sheet.state = CarState::sold;
  const auto sold = calendar(records, 5, "2026-11-25", sheet);
  CHECK(by_uid(sold, open.uid)->status == Status::cancelled);
  for (const auto& e : sold) CHECK(e.status != Status::open);

  auto ps = calendar_rules();
  ps[0].rests_in_storage = true;
  records.push_back(record("storage-begin", "2026-11-01"));
  const auto stored = calendar_of(car(), records, ps, day("2026-11-25"), 5, day("2026-11-20"));
  CHECK(by_uid(stored, open.uid)->status == Status::cancelled);
}

TEST_CASE("a task whose cause was removed is cancelled", "[schedule][calendar]") {
  std::vector records{record("exercise", "2026-11-21")};
  const auto open = of(calendar(records, 4), "after-run");
  REQUIRE(open.size() == 1);
  CHECK(open[0].status == Status::open);
  records[0].removed = true;
  const auto after = calendar(records, 5);
  REQUIRE(by_uid(after, open[0].uid) != nullptr);
  CHECK(by_uid(after, open[0].uid)->status == Status::cancelled);
  CHECK(of(calendar({}, 5), "after-run").empty());
}
