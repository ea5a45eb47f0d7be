#include "schedule/use.h"

#include <catch2/catch.hpp>

#include "schedule/car.h"

using namespace stopledger;
using namespace stopledger::testing;

namespace {

Use use(const std::vector<Record>& records, const char* today = "2026-11-25") {
  return use_of(History(records, day(today)));
}

}  // namespace

TEST_CASE("no readings, no rate", "[schedule][use]") {
  CHECK_FALSE(use({}).km_per_day);
  CHECK_FALSE(use({record("odometer", "2026-01-01", {}, 100.0)}).km_per_day);
  CHECK_FALSE(use({record("odometer", "2026-01-01", {}, 100.0),
                   record("odometer", "2026-01-01", {}, 150.0)})
                  .km_per_day);
}

TEST_CASE("a replaced cluster does not break the distance", "[schedule][use]") {
  const auto u = use({record("odometer", "2026-01-01", {}, 180000.0),
                      record("cluster-replaced", "2026-01-11",
                             {{"old", {"180100", 180100.0}}, {"new", {"12", 12.0}}}),
                      record("odometer", "2026-01-31", {}, 212.0)});
  REQUIRE(u.points.size() == 3);
  CHECK(u.points.back().km == Approx(300.0));  // 100 + (212 - 12)
  CHECK(u.km_per_day->slope == Approx(10.0));
  CHECK(u.left_out.empty());
}

TEST_CASE("one reading against both neighbours is left out and named", "[schedule][use]") {
  const std::vector records{record("odometer", "2026-01-01", {}, 1000.0),
                            record("odometer", "2026-02-01", {}, 9999.0),
                            record("odometer", "2026-03-01", {}, 1200.0)};
  const auto u = use(records);
  REQUIRE(u.left_out.size() == 1);
  CHECK(u.left_out[0] == &records[1]);
  CHECK(u.points.back().km == Approx(200.0));
}

TEST_CASE("a lasting drop without a cluster record starts anew", "[schedule][use]") {
  const auto u = use(
      {record("odometer", "2026-01-01", {}, 90000.0), record("odometer", "2026-02-01", {}, 90100.0),
       record("odometer", "2026-03-01", {}, 500.0), record("odometer", "2026-04-01", {}, 700.0)});
  CHECK(u.points.back().km == Approx(300.0));
}

TEST_CASE("between readings the distance is in proportion, outside unknown", "[schedule][use]") {
  const auto u = use(
      {record("odometer", "2026-01-01", {}, 1000.0), record("odometer", "2026-01-11", {}, 1100.0)});
  CHECK(*u.km_on(day("2026-01-04")) == Approx(30.0));
  CHECK_FALSE(u.km_on(day("2026-01-12")));
  CHECK_FALSE(u.km_on(day("2025-12-31")));
  CHECK(*u.day_at(30.0) == day("2026-01-04"));
  CHECK(*u.day_at(0.0) == day("2026-01-01"));
  CHECK_FALSE(u.day_at(101.0));
}

TEST_CASE("only the last three years make the rate", "[schedule][use]") {
  std::vector<Record> records;
  for (int i = 0; i < 8; ++i) {  // 100 km a day long ago
    auto r = record("odometer", "2015-01-01", {}, 100.0 * i);
    r.day = add_days(r.day, i);
    records.push_back(r);
  }
  for (int i = 0; i < 4; ++i) {  // 1 km a day now
    auto r = record("odometer", "2025-01-01", {}, 5000.0 + 30.0 * i);
    r.day = add_days(r.day, 30 * i);
    records.push_back(r);
  }
  CHECK(use(records).km_per_day->slope == Approx(1.0));
}

TEST_CASE("a reckoned day has the spread of the rate", "[schedule][use]") {
  const auto u =
      use({record("odometer", "2026-01-01", {}, 0.0), record("odometer", "2026-02-01", {}, 310.0),
           record("odometer", "2026-03-01", {}, 310.0 + 560.0)});
  // Slopes: 310/31 = 10, 560/28 = 20, 870/59 = 14.75; few pairs: the whole range.
  const auto reached = day_of_distance(u, 870.0 + 1475.0);
  REQUIRE(reached);
  CHECK_FALSE(reached->proven);
  CHECK(days_between(day("2026-03-01"), reached->day) == 101);   // 1475 / 14.746 = 100.03
  CHECK(days_between(day("2026-03-01"), reached->low) == 74);    // 1475 / 20 = 73.75
  CHECK(days_between(day("2026-03-01"), reached->high) == 148);  // 1475 / 10 = 147.5
}

TEST_CASE("a car that does not move reaches no distance", "[schedule][use]") {
  const auto u = use(
      {record("odometer", "2026-01-01", {}, 500.0), record("odometer", "2026-06-01", {}, 500.0)});
  CHECK_FALSE(day_of_distance(u, 100.0));
}
