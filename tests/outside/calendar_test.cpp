// Month ends and ISO weeks against published cases; ids as in tests/SOURCES.md.
#include <catch2/catch.hpp>

#include "base/day.h"
#include "base/written_day.h"

using namespace stopledger;
using namespace stopledger::testing;

TEST_CASE("a month later is the last valid day", "[outside][calendar][CA-01]") {
  struct Case {
    const char* from;
    int months;
    const char* to;
  };
  // Java LocalDate.plusMonths reference and others, CA-01 to CA-08.
  for (const Case& c : {Case{"2007-03-31", 1, "2007-04-30"}, Case{"2018-08-31", 1, "2018-09-30"},
                        Case{"2016-02-29", 12, "2017-02-28"}, Case{"2011-01-31", 1, "2011-02-28"},
                        Case{"2012-01-31", 1, "2012-02-29"}, Case{"2013-10-31", 4, "2014-02-28"},
                        Case{"2013-10-31", -4, "2013-06-30"}, Case{"2012-02-29", 12, "2013-02-28"},
                        Case{"2011-01-30", 1, "2011-02-28"}, Case{"2011-03-30", -1, "2011-02-28"}})
    CHECK(format_day(add_months(day(c.from), c.months)) == c.to);
  CHECK(format_day(add_months(add_months(day("2020-01-31"), 1), -1)) == "2020-01-29");  // CA-07
}

TEST_CASE("ISO weeks start on Monday and week 1 holds 4 January", "[outside][calendar][CA-20]") {
  struct Case {
    const char* day;
    const char* week;
  };
  for (const Case& c : {Case{"2006-12-31", "2006-W52-7"}, Case{"2019-12-30", "2020-W01-1"},
                        Case{"1996-12-30", "1997-W01-1"}, Case{"1997-01-05", "1997-W01-7"},
                        Case{"2004-12-31", "2004-W53-5"}, Case{"2024-02-29", "2024-W09-4"}})
    CHECK(iso_week(day(c.day)) == c.week);
}

TEST_CASE("days between count leap days", "[outside][calendar][CA-30]") {
  CHECK(days_between(day("2024-02-28"), day("2024-03-01")) == 2);
  CHECK(days_between(day("2000-02-28"), day("2000-03-01")) == 2);
  CHECK(days_between(day("2023-02-28"), day("2023-03-01")) == 1);
  CHECK(days_between(day("2100-02-28"), day("2100-03-01")) == 1);
  CHECK(days_between(day("1970-01-01"), day("2026-01-01")) == 20454);
}
