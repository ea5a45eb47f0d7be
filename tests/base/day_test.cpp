#include "base/day.h"

#include <catch2/catch.hpp>

using namespace stopledger;

TEST_CASE("a day that does not exist is not parsed", "[base][day]") {
  CHECK_FALSE(parse_day("2023-02-29"));
  CHECK_FALSE(parse_day("2023-13-01"));
  CHECK_FALSE(parse_day("2023-1-01"));
  CHECK_FALSE(parse_day("2023/01/01"));
  CHECK_FALSE(parse_day(""));
  CHECK(parse_day("2024-02-29").has_value());
}

TEST_CASE("a day is printed as it is parsed", "[base][day]") {
  CHECK(format_day(*parse_day("0987-06-05")) == "0987-06-05");
}

TEST_CASE("months counted from the first date do not drift", "[base][day]") {
  const Day first = *parse_day("2023-01-31");
  CHECK(format_day(add_months(first, 1)) == "2023-02-28");
  CHECK(format_day(add_months(first, 2)) == "2023-03-31");
}
