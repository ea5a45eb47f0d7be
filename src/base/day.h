#pragma once

#include <date/date.h>

#include <optional>
#include <string>
#include <string_view>

namespace stopledger {

/// A calendar day without a clock or zone.
using Day = date::year_month_day;

/// Strict ISO 8601 "YYYY-MM-DD"; nothing when it is not a day that exists.
std::optional<Day> parse_day(std::string_view text);

/// "YYYY-MM-DD".
std::string format_day(Day day);

/// `months` later (or earlier); a day past the month's end becomes its last day (2007-03-31 + 1
/// = 2007-04-30). Not reversible; count k months from the first date, never in a chain.
Day add_months(Day day, int months);

/// `days` later (or earlier).
Day add_days(Day day, int days);

/// Days from `from` to `to`; negative when `to` is earlier.
int days_between(Day from, Day to);

/// ISO 8601 week: "2026-W48-3".
std::string iso_week(Day day);

}  // namespace stopledger
