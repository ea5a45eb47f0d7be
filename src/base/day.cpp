#include "base/day.h"

#include <date/iso_week.h>
#include <fmt/format.h>

#include <cctype>

namespace stopledger {

std::optional<Day> parse_day(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto number = [&](std::size_t from, std::size_t count) -> std::optional<int> {
    int value = 0;
    for (const char c : text.substr(from, count)) {
      if (!std::isdigit(static_cast<unsigned char>(c))) return std::nullopt;
      value = value * 10 + (c - '0');
    }
    return value;
  };
  const auto y = number(0, 4), m = number(5, 2), d = number(8, 2);
  if (!y || !m || !d) return std::nullopt;
  const Day day{date::year{*y}, date::month{static_cast<unsigned>(*m)},
                date::day{static_cast<unsigned>(*d)}};
  if (!day.ok()) return std::nullopt;
  return day;
}

std::string format_day(Day day) {
  // By hand, because lists over ten thousand cars are mostly dates.
  const auto year = static_cast<unsigned>(static_cast<int>(day.year()));
  const auto month = static_cast<unsigned>(day.month()), date = static_cast<unsigned>(day.day());
  std::string text = "0000-00-00";
  const auto put = [&](std::size_t at, unsigned value, std::size_t digits) {
    for (std::size_t i = at + digits; i-- > at; value /= 10)
      text[i] = static_cast<char>('0' + value % 10);
  };
  put(0, year, 4);
  put(5, month, 2);
  put(8, date, 2);
  return text;
}

Day add_months(Day day, int months) {
  const Day moved = day + date::months{months};
  if (moved.ok()) return moved;
  return Day{moved.year() / moved.month() / date::last};
}

Day add_days(Day day, int days) { return Day{date::sys_days{day} + date::days{days}}; }

int days_between(Day from, Day to) {
  return static_cast<int>((date::sys_days{to} - date::sys_days{from}).count());
}

std::string iso_week(Day day) {
  const iso_week::year_weeknum_weekday week{date::sys_days{day}};
  return fmt::format("{:04}-W{:02}-{}", static_cast<int>(week.year()),
                     static_cast<unsigned>(week.weeknum()), static_cast<unsigned>(week.weekday()));
}

}  // namespace stopledger
