#include "log/clock.h"

#include <date/date.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "log/unit.h"

namespace stopledger {
namespace {

constexpr double day_s = 86400.0;

bool digit(char c) { return c >= '0' && c <= '9'; }

/// Reads digits at the front of `text`; nothing when there are none or too many.
std::optional<int> take_int(std::string_view& text, std::size_t most) {
  int value = 0;
  std::size_t n = 0;
  while (n < text.size() && n < most && digit(text[n])) value = value * 10 + (text[n++] - '0');
  if (n == 0 || (n < text.size() && digit(text[n]))) return std::nullopt;
  text.remove_prefix(n);
  return value;
}

bool take(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

void skip_blanks(std::string_view& text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
}

/// ".605" or ",605" or ":605" at the front: the fraction of a second; 0 when there is none.
double take_fraction(std::string_view& text) {
  if (text.size() < 2 || (text[0] != '.' && text[0] != ',' && text[0] != ':') || !digit(text[1]))
    return 0.0;
  // ":605" counts milliseconds; a colon before fewer digits would be something else.
  const bool colon = text[0] == ':';
  double value = 0.0, scale = 1.0;
  std::size_t i = 1;
  for (; i < text.size() && digit(text[i]); ++i)
    if (scale < 1e12) {
      value = value * 10.0 + (text[i] - '0');
      scale *= 10.0;
    }
  text.remove_prefix(i);
  return colon ? value / 1000.0 : value / scale;
}

struct ClockText {
  double seconds;
  bool with_half;  // AM or PM was written
};

std::optional<ClockText> take_clock(std::string_view& text) {
  auto rest = text;
  const auto a = take_int(rest, 3);
  if (!a || !take(rest, ':')) return std::nullopt;
  const auto b = take_int(rest, 2);
  if (!b) return std::nullopt;
  double seconds = 0.0;
  if (!rest.empty() && rest.front() == ':') {
    rest.remove_prefix(1);
    const auto c = take_int(rest, 2);
    if (!c || *b > 59 || *c > 60) return std::nullopt;
    seconds = *a * 3600.0 + *b * 60.0 + *c;
    seconds += take_fraction(rest);
  } else if (rest.size() > 1 && (rest[0] == '.' || rest[0] == ',') && digit(rest[1])) {
    if (*b > 59) return std::nullopt;
    seconds = *a * 60.0 + *b;  // "47:12.5": minutes and seconds
    seconds += take_fraction(rest);
  } else {
    if (*b > 59) return std::nullopt;
    seconds = *a * 3600.0 + *b * 60.0;
  }
  auto half = rest;
  skip_blanks(half);
  const auto mark = fold_text(half.substr(0, 4));
  const bool pm = mark.starts_with("pm") || mark.starts_with("p.m.");
  const bool am = mark.starts_with("am") || mark.starts_with("a.m.");
  if (am || pm) {
    if (*a < 1 || *a > 12) return std::nullopt;
    seconds += (pm ? (*a == 12 ? 0.0 : 43200.0) : (*a == 12 ? -43200.0 : 0.0));
    half.remove_prefix(mark[1] == '.' ? 4 : 2);
    rest = half;
  }
  text = rest;
  return ClockText{seconds, am || pm};
}

double days_since_1970(int y, int m, int d, bool& ok) {
  const date::year_month_day day{date::year(y), date::month(static_cast<unsigned>(m)),
                                 date::day(static_cast<unsigned>(d))};
  ok = day.ok() && y >= 1900 && y <= 2200;
  return ok ? static_cast<double>(date::sys_days(day).time_since_epoch().count()) : 0.0;
}

/// A date at the front, in seconds since 1970.
std::optional<double> take_date(std::string_view& text) {
  auto rest = text;
  const auto a = take_int(rest, 4);
  if (!a || rest.empty()) return std::nullopt;
  const char mark = rest.front();
  if (mark != '-' && mark != '/' && mark != '.') return std::nullopt;
  rest.remove_prefix(1);
  const auto b = take_int(rest, 2);
  if (!b || !take(rest, mark)) return std::nullopt;
  const auto c = take_int(rest, 4);
  if (!c) return std::nullopt;
  int y = *a, m = *b, d = *c;
  if (*a < 32) {  // day or month first; the day is the one beyond 12, else the mark decides
    y = *c < 100 ? *c + 2000 : *c;
    const bool month_first = *b > 12 || (mark == '/' && *a <= 12);
    m = month_first ? *a : *b;
    d = month_first ? *b : *a;
  }
  bool ok = false;
  const double days = days_since_1970(y, m, d, ok);
  if (!ok) return std::nullopt;
  text = rest;
  return days * day_s;
}

/// "Z", "+01:00", "-0530" or nothing: seconds to take off; nothing for other text.
std::optional<double> take_zone(std::string_view text) {
  text = trim(text);
  if (text.empty() || text == "Z" || text == "z" || text == "UTC" || text == "GMT") return 0.0;
  const char sign = text.front();
  if (sign != '+' && sign != '-') return std::nullopt;
  text.remove_prefix(1);
  int hours = 0, minutes = 0;
  if (text.size() == 4 && text.find(':') == std::string_view::npos) {
    const auto both = take_int(text, 4);
    if (!both) return std::nullopt;
    hours = *both / 100;
    minutes = *both % 100;
  } else {
    const auto h = take_int(text, 2);
    if (!h) return std::nullopt;
    hours = *h;
    if (take(text, ':')) minutes = take_int(text, 2).value_or(0);
  }
  if (!text.empty() || hours > 14 || minutes > 59) return std::nullopt;
  return (sign == '+' ? 1.0 : -1.0) * (hours * 3600.0 + minutes * 60.0);
}

}  // namespace

std::optional<TimeCell> parse_time(std::string_view cell, const NumberStyle& style) {
  auto text = trim(cell);
  if (text.empty() || text.size() > 48) return std::nullopt;
  if (const auto number = parse_number(text, style); number && number->rest.empty())
    return TimeCell{TimeForm::number, number->value};
  auto rest = text;
  if (const auto clock = take_clock(rest)) {
    if (take_zone(rest)) return TimeCell{TimeForm::clock, clock->seconds};
    return std::nullopt;
  }
  rest = text;
  const auto date = take_date(rest);
  if (!date) {
    // "48.5 s": a number with its unit.
    if (const auto number = parse_number(text, style))
      if (const auto unit = parse_unit(number->rest);
          unit && unit->dimension == UnitDimension::time)
        return TimeCell{TimeForm::number, number->value};
    return std::nullopt;
  }
  if (trim(rest).empty()) return TimeCell{TimeForm::date, *date};
  if (rest.front() == 'T' || rest.front() == 't' || rest.front() == '_' || rest.front() == ',' ||
      rest.front() == ' ')
    rest.remove_prefix(1);
  skip_blanks(rest);
  const auto clock = take_clock(rest);
  if (!clock) return std::nullopt;
  const auto zone = take_zone(rest);
  if (!zone) return std::nullopt;
  return TimeCell{TimeForm::date_time, *date + clock->seconds - *zone};
}

void Clock::count(LogDefect& defect, std::size_t line, std::size_t by) {
  if (defect.count == 0) defect.line = line;
  defect.count += by;
}

void Clock::begin_segment(double t) { segments_.push_back({t, t}); }

double Clock::step() const { return steps_seen_ > 0 ? typical_step_ : 0.1; }

std::optional<double> Clock::row(double stamp, std::optional<double> next, std::size_t line) {
  // Chosen: a row may lie this far before its neighbour and still be a row out of order; anything
  // longer is a clock that was set or a recorder that began again.
  constexpr std::size_t most_out_of_order = 5;
  if (!started_) {
    started_ = true;
    first_stamp_ = last_stamp_ = stamp;
    last_t_ = 0.0;
    begin_segment(0.0);
    return 0.0;
  }
  double d = stamp - last_stamp_;
  const auto near = [&](double value, double target) {
    return std::abs(value - target) < std::max(5.0, 20.0 * step());
  };
  const bool wall = form_ != TimeForm::number;
  if (form_ == TimeForm::clock && near(d, -day_s)) {
    d += day_s;  // midnight
  } else if (form_ == TimeForm::clock && near(d, -43200.0)) {
    d += 43200.0;  // a 12-hour clock without AM and PM
  } else if (wall && d < -1800.0 && near(d, -3600.0)) {
    count(clock_steps_, line);  // the hour that daylight saving gives back
    d += 3600.0;
  } else if (wall && near(d, 3600.0)) {
    count(clock_steps_, line);
    d -= 3600.0;
  }
  if (d < 0.0 && held_back_ > 0 && d > -2.0 * step()) d = std::min(d, -1e-9);
  if (d < 0.0) {
    // One wrong stamp, several rows out of order, or a new beginning?
    const bool next_goes_on = next && *next >= last_stamp_;
    const bool from_the_start = stamp <= first_stamp_ + 0.5 * step();
    if (next_goes_on || (held_back_ < most_out_of_order && d > -2.0 && !from_the_start)) {
      ++held_back_;
      count(out_of_order_, line);
      return std::nullopt;
    }
    count(restarts_, line);
    held_back_ = 0;
    last_stamp_ = stamp;
    last_t_ += step();
    begin_segment(last_t_);
    return last_t_;
  }
  // A stamp far ahead from which the next row comes back is wrong by itself.
  if (next && d > 5.0 * step() && *next < stamp && *next >= last_stamp_) {
    count(out_of_order_, line);
    return std::nullopt;
  }
  held_back_ = 0;
  last_stamp_ = stamp;
  if (d == 0.0) count(duplicates_, line);
  const double gap_limit = std::max(3.0, 10.0 * step());
  if (steps_seen_ > 0 && d > 6.0 * 3600.0) {
    count(clock_steps_, line);
    last_t_ += step();
    begin_segment(last_t_);
    return last_t_;
  }
  last_t_ += d;
  if (steps_seen_ > 0 && d > gap_limit) {
    count(gaps_, line);
    longest_gap_ = std::max(longest_gap_, d);
    begin_segment(last_t_);
    return last_t_;
  }
  if (d > 0.0) learn_step(d);
  segments_.back().end_s = last_t_;
  return last_t_;
}

void Clock::finish(Log& log) {
  log.segments = segments_;
  log.duration_s = last_t_;
  const auto add = [&](LogDefect defect, std::string what) {
    if (defect.count == 0) return;
    defect.what = std::move(what);
    log.defects.push_back(std::move(defect));
  };
  const auto rows = [](std::size_t n) {
    return n == 1 ? std::string("1 row") : fmt::format("{} rows", n);
  };
  const auto times = [](std::size_t n) {
    return n == 1 ? std::string("once") : fmt::format("{} times", n);
  };
  add(out_of_order_, rows(out_of_order_.count) + " out of order in time; skipped");
  add(duplicates_, rows(duplicates_.count) + " with the time stamp of the row before");
  add(restarts_,
      "the clock starts again " + times(restarts_.count) + "; nothing is carried across");
  add(clock_steps_, "the clock was set " + times(clock_steps_.count) + "; the step is taken out");
  add(gaps_, fmt::format("nothing was recorded {} for a while (longest {:.1f} s)",
                         times(gaps_.count), longest_gap_));
}

}  // namespace stopledger
