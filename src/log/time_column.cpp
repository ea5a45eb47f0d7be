#include "log/time_column.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "base/error.h"
#include "log/cell.h"

namespace stopledger {
namespace {

/// Time-like columns by their first cells.
struct TimeColumn {
  std::size_t column = 0;
  TimeForm form = TimeForm::number;
  double score = 0.0;
  double first = 0.0, typical_step = 0.0;
  bool counts_rows = false;
};

std::optional<TimeColumn> judge_time(const std::vector<HeadRow>& rows, std::size_t index,
                                     const NumberStyle& style, bool named) {
  std::map<TimeForm, std::size_t> forms;
  std::vector<double> stamps;
  std::size_t present = 0;
  for (const auto& row : rows) {
    if (index >= row.cells.size() || is_missing(row.cells[index])) continue;
    ++present;
    if (const auto time = parse_time(row.cells[index], style)) {
      ++forms[time->form];
      stamps.push_back(time->seconds);
    }
  }
  if (stamps.empty() || stamps.size() * 10 < present * 8 || present * 2 < rows.size())
    return std::nullopt;
  TimeColumn column{.column = index, .form = TimeForm::number};
  std::size_t most = 0;
  for (const auto& [form, n] : forms)
    if (n > most) {
      most = n;
      column.form = form;
    }
  std::size_t up = 0, same = 0, down = 0, ones = 0;
  std::vector<double> steps;
  for (std::size_t i = 1; i < stamps.size(); ++i) {
    const double d = stamps[i] - stamps[i - 1];
    ++(d > 0 ? up : d < 0 ? down : same);
    ones += d == 1.0 ? 1 : 0;
    if (d > 0) steps.push_back(d);
  }
  // A column that is named as time may run backwards here and there (Clock sorts that out).
  if (stamps.size() > 1 && (up == 0 || down * (named ? 3 : 10) > stamps.size())) {
    if (column.form == TimeForm::number || up + same == 0) return std::nullopt;
    if (column.form != TimeForm::date && up == 0) return std::nullopt;
  }
  if (!steps.empty()) {
    std::nth_element(steps.begin(), steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2),
                     steps.end());
    column.typical_step = steps[steps.size() / 2];
  }
  column.first = stamps[0];
  column.counts_rows = column.form == TimeForm::number && ones + 1 >= stamps.size() &&
                       stamps.size() > 2 && stamps[0] <= 1.0;
  // More distinct stamps are a finer clock.
  column.score =
      stamps.size() > 1 ? static_cast<double>(up) / static_cast<double>(stamps.size() - 1) : 1.0;
  return column;
}

/// Seconds per count of a numeric time column.
double time_factor(const TimeColumn& time, const Column& column, std::vector<std::string>& notes) {
  const double first = std::abs(time.first), step = time.typical_step;
  const bool named = column.unit && column.unit->dimension == UnitDimension::time;
  double factor = named ? column.unit->factor : 0.0;
  if (!named) {
    for (const auto& word : split_words(column.name)) {
      if (word == "ms" || word == "msec" || word == "millis" || word == "milliseconds")
        factor = 1e-3;
      if (word == "us" || word == "usec" || word == "micros" || word == "microseconds")
        factor = 1e-6;
      if (word == "sec" || word == "secs" || word == "seconds" || word == "second") factor = 1.0;
    }
  }
  // Stamps that count from 1970 show their unit by their size.
  if (first > 1e9 && first < 4e9 && step < 100) return 1.0;
  if (first > 1e12 && first < 4e12) return 1e-3;
  if (first > 1e15 && first < 4e15) return 1e-6;
  if (first > 1e18 && first < 4e18) return 1e-9;
  if (factor == 0.0 && first > 20000 && first < 80000 && step > 0 && step < 2e-4) {
    notes.push_back(
        fmt::format("time \"{}\" is read as days (a spreadsheet's date number)", column.header));
    return 86400.0;
  }
  // No recorder of these cars writes more than 2500 rows a second or one in 30 s (chosen).
  const auto plausible = [&](double f) { return step * f > 4e-4 && step * f < 30.0; };
  if (factor > 0.0 && (step == 0.0 || plausible(factor))) return factor;
  const double guess = step >= 3.0 ? (step > 2000.0 ? 1e-6 : 1e-3) : 1.0;
  if (factor > 0.0) {
    notes.push_back(
        fmt::format("time \"{}\": its unit would put the rows {:g} s apart; read as {} instead",
                    column.header, step * factor,
                    guess == 1.0    ? "seconds"
                    : guess == 1e-3 ? "milliseconds"
                                    : "microseconds"));
    return guess;
  }
  notes.push_back(fmt::format("time \"{}\" has no unit; read as {} by the size of its steps",
                              column.header,
                              guess == 1.0    ? "seconds"
                              : guess == 1e-3 ? "milliseconds"
                                              : "microseconds"));
  return guess;
}

}  // namespace

void choose_time(Layout& layout, const std::vector<HeadRow>& rows, const std::string& name) {
  std::optional<TimeColumn> best, row_number, date;
  std::vector<TimeColumn> named;
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    const auto& column = layout.columns[i];
    const bool by_map = column.wording.says_time && column.wording.rank >= 1000;
    const bool says =
        column.wording.says_time || (column.unit && column.unit->dimension == UnitDimension::time);
    // Mostly numbers, and something other than time: not worth a look.
    if (column.wording.role && 2 * column.bare_numbers > column.filled) continue;
    auto time = judge_time(rows, i, layout.style, says);
    if (by_map && !time)
      throw Error(ErrorKind::input, {name, layout.header_line},
                  fmt::format("column \"{}\", which the channel map names as time, does not hold "
                              "rising times",
                              column.header));
    if (!time) continue;
    if (by_map) time->score += 10.0;
    if (time->form == TimeForm::date) {
      if (!date) date = time;
      continue;
    }
    if (column.wording.role && time->form == TimeForm::number) continue;
    if (time->form == TimeForm::number && !says) {
      if (time->counts_rows) {
        if (!row_number) row_number = time;
        continue;
      }
      if (i != 0 && !(row_number && row_number->column + 1 == i)) continue;
      time->score -= 1.5;
    }
    if (time->form != TimeForm::number && !says) time->score -= 0.3;
    if (says) named.push_back(*time);
    if (!best || time->score > best->score + 0.02) best = time;
  }
  if (!best) {
    const Place place{name, layout.header_line};
    if (row_number)
      throw Error(ErrorKind::input, place,
                  fmt::format("no time: column \"{}\" only counts the rows; say how far apart they "
                              "are with row_interval_s in a channel map (--channels)",
                              layout.columns[row_number->column].header));
    throw Error(ErrorKind::input, place,
                "no time column: none of the columns counts seconds, milliseconds or clock time; "
                "record with time stamps, or name the column in a channel map (--channels)");
  }
  const auto& chosen = layout.columns[best->column];
  layout.time_column = best->column;
  layout.time_form = best->form;
  if (best->form == TimeForm::number) {
    layout.time_factor = time_factor(*best, chosen, layout.notes);
    if (!chosen.wording.says_time &&
        !(chosen.unit && chosen.unit->dimension == UnitDimension::time))
      layout.notes.push_back(fmt::format(
          "no column is named as time; \"{}\" is taken because it only rises", chosen.header));
  }
  if (best->form == TimeForm::clock && date) layout.date_column = date->column;
  // A time column before every value: each value is read with its own.
  layout.own_time.assign(layout.columns.size(), best->column);
  if (named.size() >= 2) {
    std::size_t values = 0, with_own = 0;
    for (std::size_t i = 0; i < layout.columns.size(); ++i) {
      if (!layout.tracked(i)) continue;
      ++values;
      with_own += std::any_of(named.begin(), named.end(),
                              [&](const TimeColumn& t) {
                                return t.column + 1 == i && t.form == TimeForm::number;
                              })
                      ? 1
                      : 0;
    }
    if (values >= 2 && with_own == values)
      for (std::size_t i = 1; i < layout.columns.size(); ++i)
        if (layout.tracked(i)) layout.own_time[i] = i - 1;
  }
}

}  // namespace stopledger
