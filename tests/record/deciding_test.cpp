#include <catch2/catch.hpp>
#include <random>

#include "base/error.h"
#include "procedure/library.h"
#include "record/kinds.h"
#include "record/ledger.h"
#include "record/temporary.h"
#include "schedule/due.h"

using namespace stopledger;

namespace {

/// What due rests on, without the days that are reckoned from thinned odometer readings.
std::vector<std::string> answers(const std::vector<DueItem>& items) {
  std::vector<std::string> out;
  for (const auto& item : items) {
    auto text = item.procedure + " " + std::string(due_state_name(item.state)) + " " +
                item.last_record + " " + item.cause_record;
    for (const auto& block : item.blocks) text += " " + block.id + ":" + block.record;
    out.push_back(std::move(text));
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace

TEST_CASE("what is due is the same from the deciding records as from all",
          "[record][ledger][brief]") {
  const Temporary folder;
  const EntryStamp stamp{"2026-11-25T10:00:00Z", "A. Person"};
  const Day today = *parse_day("2026-11-25");
  const auto procedures = load_procedures();
  std::mt19937 random(3);
  const auto pick = [&](std::initializer_list<const char*> words) {
    return std::string(words.begin()[random() % words.size()]);
  };
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.begin();
  for (int number = 0; number < 12; ++number) {
    CarSheet sheet;
    sheet.facts.name = "Car " + std::to_string(number);
    sheet.facts.unit_kind = number % 3 == 0   ? UnitKind::unknown
                            : number % 3 == 1 ? UnitKind::two_valve
                                              : UnitKind::high_pressure_store;
    ledger.add_car(sheet, stamp);
    std::vector<Record> made;
    double km = 50000.0;
    for (int i = 0; i < 120; ++i) {
      Record record;
      record.car = sheet.facts.name;
      record.kind = record_kinds()[random() % record_kinds().size()].name;
      record.day = add_days(today, -static_cast<int>(random() % 2500));
      record.who = "A. Person";
      record.fields["result"] = {
          pick({"pass", "fail", "exercised", "suspect", "unseen", "clean", "re-flush"}),
          std::nullopt};
      record.fields["procedure"] = {pick({"stop-fronts", "stop-rears", "stop-response"}),
                                    std::nullopt};
      for (const char* flag : {"unit", "leaks", "lamp"}) {
        const bool yes = random() % 8 == 0;
        record.fields[flag] = {yes ? "yes" : "no", yes ? 1.0 : 0.0};
      }
      if (!made.empty()) record.fields["fault"] = {made[random() % made.size()].uid, std::nullopt};
      if (random() % 3 == 0) {
        km += 100.0;
        record.odometer_km = km;
      }
      made.push_back(random() % 10 == 0 && !made.empty() && made.back().current()
                         ? ledger.correct(made.back().id, record, stamp)
                         : ledger.add_record(record, stamp));
      if (random() % 15 == 0) {
        ledger.remove(made.back().id, "random", stamp);
        made.back().removed = true;
      }
    }
  }
  ledger.commit();
  std::size_t cars = 0;
  ledger.for_each_active_car({}, 1, [&](const ActiveCar& car) {
    CHECK(car.place == cars++);
    const auto all = ledger.records_of(car.sheet.facts.name, true);
    CHECK(car.deciding.size() < all.size());
    CHECK(answers(what_is_due(car.sheet, car.deciding, procedures, today)) ==
          answers(what_is_due(car.sheet, all, procedures, today)));
  });
  CHECK(cars == 12);
}

TEST_CASE("threads see each active car once, with all its records for a day gone by",
          "[record][ledger][brief]") {
  const Temporary folder;
  const EntryStamp stamp{"2026-11-25T10:00:00Z", "A. Person"};
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.begin();
  constexpr std::size_t cars = 150;
  for (std::size_t number = 0; number < cars; ++number) {
    CarSheet sheet;
    sheet.facts.name = "Car " + std::to_string(1000 + number);
    ledger.add_car(sheet, stamp);
    for (const char* day : {"2020-01-01", "2021-01-01", "2022-01-01"}) {
      Record record;
      record.car = sheet.facts.name;
      record.kind = "lamp-check";
      record.day = *parse_day(day);
      ledger.add_record(record, stamp);
    }
  }
  CarSheet sold;
  sold.facts.name = "Car 0";
  sold.state = CarState::sold;
  ledger.add_car(sold, stamp);
  ledger.commit();

  const auto gone_by = parse_day("2021-06-01"), today = parse_day("2026-11-25");
  for (const std::size_t workers : {1U, 2U, 5U})
    for (const auto& [on, records] : {std::pair{gone_by, 3U}, std::pair{today, 1U}}) {
      std::vector<std::map<std::uint32_t, std::string>> seen(workers);
      std::vector<std::size_t> wrong(workers);
      ledger.for_each_active_car(on, workers, [&, count = records](const ActiveCar& car) {
        seen.at(car.worker)[car.place] = car.sheet.facts.name;
        wrong.at(car.worker) += car.deciding.size() != count ? 1 : 0;
      });
      std::map<std::uint32_t, std::string> all;
      for (std::size_t worker = 0; worker < workers; ++worker) {
        CHECK(wrong[worker] == 0);
        all.merge(seen[worker]);
        CHECK(seen[worker].empty());  // no place twice
      }
      REQUIRE(all.size() == cars);
      for (const auto& [place, name] : all) CHECK(name == "Car " + std::to_string(1000 + place));
    }
  CHECK(ledger.deciding_records_of("Car 1000", gone_by).size() == 3);
  CHECK(ledger.deciding_records_of("Car 1000", today).size() == 1);
}

TEST_CASE("what goes wrong with one car in a thread comes out", "[record][ledger][brief]") {
  const Temporary folder;
  const EntryStamp stamp{"2026-11-25T10:00:00Z", "A. Person"};
  Ledger ledger(folder.file("l.db"), Ledger::Mode::create);
  ledger.begin();
  for (int number = 0; number < 200; ++number) {
    CarSheet sheet;
    sheet.facts.name = "Car " + std::to_string(number);
    ledger.add_car(sheet, stamp);
  }
  ledger.commit();
  for (const std::size_t workers : {1U, 3U})
    CHECK_THROWS_WITH(ledger.for_each_active_car({}, workers,
                                                 [](const ActiveCar& car) {
                                                   if (car.sheet.facts.name == "Car 77")
                                                     throw Error(ErrorKind::input, "that car");
                                                 }),
                      Catch::Contains("that car"));
  CHECK(ledger.car_briefs().size() == 200);
}
