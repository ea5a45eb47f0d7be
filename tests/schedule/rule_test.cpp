#include "schedule/rule.h"

#include <catch2/catch.hpp>

#include "base/written_day.h"
#include "record/fields.h"

using namespace stopledger;
using stopledger::testing::day;

namespace {

/// The definition: the newest year whose season, started so many months sooner, has begun.
int season_year_by_trying(const Interval& rule, Day on, int early_months) {
  int year = static_cast<int>(on.year()) + 1;
  while (add_months(season_of(rule, year).start, -early_months) > on) --year;
  return year;
}

}  // namespace

TEST_CASE("the year of a season is the same by reckoning and by trying", "[schedule][rule]") {
  int wrong = 0;
  for (int first = 1; first <= 12; ++first)
    for (int early = 0; early <= 24; ++early) {
      Interval rule;
      rule.season_months = {first};
      for (Day on = day("2023-12-30"); on < day("2026-02-02"); on = add_days(on, 1))
        wrong += season_year(rule, on, early) != season_year_by_trying(rule, on, early) ? 1 : 0;
    }
  CHECK(wrong == 0);
}

TEST_CASE("fields are kept by name, whatever order they came in", "[record][fields]") {
  Fields fields;
  for (const char* name : {"rr", "fl", "rl", "fr", "fl"}) fields[name].written += name;
  std::string names, written;
  for (const auto& [name, value] : fields) {
    names += name + " ";
    written += value.written + " ";
  }
  CHECK(names == "fl fr rl rr ");
  CHECK(written == "flfl fr rl rr ");
  CHECK(fields.contains("rl"));
  CHECK_FALSE(fields.contains("r"));
  CHECK_THROWS_AS(fields.at("pump"), std::out_of_range);
}
