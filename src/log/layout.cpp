#include "log/layout.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <set>

#include "base/error.h"
#include "log/text.h"

namespace stopledger {
namespace {

using Cells = std::vector<std::string>;

struct Record {
  Cells cells;
  std::size_t line = 0;
  std::size_t offset = 0;  // of its start
};

constexpr std::size_t sampled_records = 1500;

std::vector<Record> split_head(std::string_view head, char delimiter, std::size_t most) {
  RecordSplitter splitter(head, delimiter);
  std::vector<Record> records;
  std::vector<std::string_view> cells;
  for (std::size_t at = 0; records.size() < most; at = splitter.offset()) {
    if (!splitter.next(cells)) break;
    Record record{{}, splitter.line(), at};
    record.cells.reserve(cells.size());
    for (const auto cell : cells) record.cells.emplace_back(trim(cell));
    records.push_back(std::move(record));
  }
  return records;
}

bool is_blank(const Record& record) {
  return std::all_of(record.cells.begin(), record.cells.end(),
                     [](const std::string& cell) { return cell.empty(); });
}

bool is_comment(const Record& record) {
  return !record.cells.empty() &&
         (record.cells[0].starts_with('#') || record.cells[0].starts_with("//"));
}

bool has_letter(std::string_view cell) {
  return std::any_of(cell.begin(), cell.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
           static_cast<unsigned char>(c) >= 0x80;
  });
}

/// A number or a time stamp, in either decimal style.
bool is_value(const std::string& cell, char delimiter) {
  if (cell.empty() || has_letter(cell.substr(0, 1))) return false;
  return parse_time(cell, {'.', delimiter}) || parse_time(cell, {',', delimiter}) ||
         parse_number(cell, {'.', delimiter}) || parse_number(cell, {',', delimiter});
}

std::size_t filled(const Record& record) {
  return static_cast<std::size_t>(
      std::count_if(record.cells.begin(), record.cells.end(),
                    [](const std::string& cell) { return !cell.empty(); }));
}

/// Cells but for empty ones at the end (trailing delimiters).
std::size_t width(const Record& record) {
  std::size_t n = record.cells.size();
  while (n > 0 && record.cells[n - 1].empty()) --n;
  return n;
}

bool looks_like_header(const Record& record, char delimiter) {
  if (filled(record) < 2) return false;
  std::size_t values = 0, lettered = 0;
  for (const auto& cell : record.cells) {
    values += is_value(cell, delimiter) ? 1 : 0;
    lettered += has_letter(cell) ? 1 : 0;
  }
  return values == 0 && lettered >= 2;
}

bool looks_like_data(const Record& record, char delimiter) {
  return std::any_of(record.cells.begin(), record.cells.end(),
                     [&](const std::string& cell) { return is_value(cell, delimiter); });
}

/// A row of units: every filled cell is one, or a bracketed one, or a dash.
bool looks_like_units(const Record& record) {
  std::size_t units = 0;
  for (const auto& cell : record.cells) {
    auto text = std::string_view(cell);
    if (text.size() > 2 && (text.front() == '[' || text.front() == '(')) {
      text.remove_prefix(1);
      text.remove_suffix(1);
    }
    if (is_missing(text)) continue;
    const auto folded = fold_text(text);
    if (!parse_unit(text) && folded != "on/off" && folded != "0/1" && folded != "bool" &&
        folded != "hh:mm:ss" && folded != "state" && folded != "bit" && folded != "hh:mm:ss.s" &&
        folded != "hh:mm:ss.sss" && folded != "text" && folded != "flag" && folded != "boolean")
      return false;
    ++units;
  }
  return units >= 1;
}

struct HeaderAt {
  std::size_t record = 0;
  double score = 0.0;
};

/// The record that is most likely the header: the first one that names as many columns as the
/// data rows after it have.
HeaderAt find_header(const std::vector<Record>& records, char delimiter) {
  HeaderAt best;
  std::size_t tried = 0;
  for (std::size_t i = 0; i < records.size() && tried < 60; ++i) {
    if (is_blank(records[i]) || !looks_like_header(records[i], delimiter)) continue;
    ++tried;
    const std::size_t columns = records[i].cells.size();
    const std::size_t named = width(records[i]);
    double fitting = 0.0;
    std::size_t rows = 0;
    bool first = true, broken = false;
    for (std::size_t k = i + 1; k < records.size() && rows < 100 && !broken; ++k) {
      const auto& row = records[k];
      if (is_blank(row) || is_comment(row)) continue;
      if (first && looks_like_units(row) && !looks_like_data(row, delimiter)) {
        first = false;
        continue;
      }
      const bool data = looks_like_data(row, delimiter);
      if (rows == 0 && !data) broken = true;  // something else stands between: not its header
      first = false;
      ++rows;
      const std::size_t n = row.cells.size();
      if (data && (n == columns || width(row) == named || (n > named && width(row) <= named)))
        fitting += 1.0;
      else if (data && n > 1)
        fitting += 0.2;
    }
    if (broken || rows == 0) continue;
    const double score =
        fitting * static_cast<double>(named) * (fitting / static_cast<double>(rows));
    if (score > best.score * 1.1) best = {i, score};
  }
  return best;
}

/// Decimal mark from the cells of the data rows.
char find_decimal(const std::vector<Record>& records, std::size_t first, char delimiter) {
  std::size_t comma = 0, comma_three = 0, point = 0, point_three = 0;
  for (std::size_t k = first; k < records.size(); ++k)
    for (const auto& cell : records[k].cells) {
      const auto mark = cell.find_first_of(".,");
      if (mark == std::string::npos || mark == 0) continue;
      if (cell.find_first_not_of("0123456789-+.,eE") != std::string::npos) continue;
      if (cell.find_last_of(".,") != mark) {
        // Both marks in one cell: the last one is the decimal mark unless it repeats.
        const char last = cell[cell.find_last_of(".,")];
        if (cell[mark] != last) ++(last == ',' ? comma : point);
        continue;
      }
      const auto digits = cell.substr(mark + 1);
      // "1,234" could be a thousand; "0,234" and "1234,567" could not.
      const bool three = digits.size() == 3 && mark <= 3 + (cell[0] == '-' ? 1U : 0U) &&
                         cell[cell[0] == '-' ? 1 : 0] != '0';
      if (cell[mark] == ',')
        ++(three ? comma_three : comma);
      else
        ++(three ? point_three : point);
    }
  if (delimiter == ',' && comma + comma_three == 0) return '.';
  if (comma != point) return comma > point ? ',' : '.';
  return comma_three > 0 && point_three == 0 && point == 0 && delimiter != ',' ? ',' : '.';
}

/// Takes the unit out of a header: "speed (km/h)", "speed [km/h]", "speed, km/h", "speed km/h".
void split_header(Column& column) {
  const std::string& header = column.header;
  column.name = header;
  for (const auto& [open, close] : {std::pair{'(', ')'}, {'[', ']'}, {'{', '}'}, {'<', '>'}}) {
    const auto end = header.rfind(close);
    const auto begin = end == std::string::npos ? end : header.rfind(open, end);
    if (begin == std::string::npos) continue;
    const auto inside =
        std::string(trim(std::string_view(header).substr(begin + 1, end - begin - 1)));
    if (is_missing(inside)) {  // "[-]": no unit
      column.name = header.substr(0, begin);
      return;
    }
    const auto unit = parse_unit(inside);
    if (!unit && has_letter(inside) && end + 1 != header.size()) continue;
    if (unit || !recognise_words({inside}, {std::nullopt}, {})[0].role) {
      const bool state_hint = fold_text(inside) == "on/off" || fold_text(inside) == "0/1";
      if (!unit && !state_hint && inside.size() > 12) continue;
      column.unit_text = inside;
      column.unit = unit;
      column.name = header.substr(0, begin) + " " + header.substr(end + 1);
      return;
    }
  }
  // A unit as the last word.
  const auto mark = header.find_last_of(" ,;/_-.");
  for (const auto begin : {header.find_last_of(" ,;"), header.find_last_of("_"), mark}) {
    if (begin == std::string::npos || begin == 0 || begin + 1 >= header.size()) continue;
    const auto last = header.substr(begin + 1);
    const auto unit = parse_unit(last);
    // One letter alone ("v", "g", "h") is more often part of the name.
    if (!unit || (last.size() == 1 && last != "V" && last != "%" && last != "g" && last != "s"))
      continue;
    if (last == "long" || (unit->dimension == UnitDimension::other)) continue;
    column.unit_text = last;
    column.unit = unit;
    column.name = header.substr(0, begin);
    return;
  }
  if (header.size() > 1 && header.ends_with('%')) {
    column.unit_text = "%";
    column.unit = parse_unit("%");
    column.name = header.substr(0, header.size() - 1);
  }
}

/// Time-like columns by their first cells.
struct TimeColumn {
  std::size_t column = 0;
  TimeForm form = TimeForm::number;
  double score = 0.0;
  double first = 0.0, typical_step = 0.0;
  bool counts_rows = false;
};

std::optional<TimeColumn> judge_time(const std::vector<Record>& rows, std::size_t index,
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

void choose_time(Layout& layout, const std::vector<Record>& rows, const std::string& name) {
  std::optional<TimeColumn> best, row_number, date;
  std::vector<TimeColumn> named;
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    const auto& column = layout.columns[i];
    const bool by_map = column.wording.says_time && column.wording.rank >= 1000;
    const bool says =
        column.wording.says_time || (column.unit && column.unit->dimension == UnitDimension::time);
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

/// Names of the group row above the header go in front: "Wheel speed" over "FL", "FR", ...
void add_group_row(Layout& layout, const Record& above) {
  std::string group;
  for (std::size_t i = 0; i < layout.columns.size() && i < above.cells.size(); ++i) {
    if (!above.cells[i].empty()) group = above.cells[i];
    if (!group.empty()) layout.columns[i].header = group + " " + layout.columns[i].header;
  }
}

/// Two columns for one role: the better claim wins where no wheel is at stake, else an error.
void settle_claims(Layout& layout, const std::string& name, bool first_wins) {
  std::map<Role, std::size_t> owner;
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    auto& column = layout.columns[i];
    if (!layout.tracked(i) || i == layout.time_column) continue;
    const Role role = *column.wording.role;
    const auto [found, fresh] = owner.try_emplace(role, i);
    if (fresh) continue;
    auto& other = layout.columns[found->second];
    if (column.wording.rank == other.wording.rank && role.place != PlaceKind::car && !first_wins)
      throw Error(ErrorKind::input, {name, layout.header_line},
                  fmt::format("two columns claim {}: \"{}\" and \"{}\"; keep one by a channel map "
                              "(stopledger channels FILE --write-map map.toml, set the role of the "
                              "other to \"unused\", then --channels map.toml)",
                              role_name(role), other.header, column.header));
    const bool better = column.wording.rank > other.wording.rank;
    auto& loser = better ? other : column;
    const auto& winner = better ? column : other;
    layout.notes.push_back(fmt::format("\"{}\" is not used: \"{}\" is taken for {}", loser.header,
                                       winner.header, role_name(role)));
    if (better) found->second = i;
    loser.wording.role.reset();
  }
}

/// Puts the channel map's word over what the wording said.
void apply_map(Layout& layout, const ChannelMap& map, const std::string& name) {
  const auto column_of = [&](const std::string& header, std::size_t line) -> std::size_t {
    for (const bool exact : {true, false})
      for (std::size_t i = 0; i < layout.columns.size(); ++i)
        if (exact ? layout.columns[i].header == header
                  : fold_text(layout.columns[i].header) == fold_text(trim(header)))
          return i;
    std::string list;
    for (const auto& column : layout.columns)
      list += (list.empty() ? "\"" : ", \"") + column.header + "\"";
    throw Error(ErrorKind::input, {map.file, line},
                fmt::format("{} has no column \"{}\"; its columns are {}", name, header, list));
  };
  for (const auto& entry : map.channels) {
    auto& column = layout.columns[column_of(entry.column, entry.line)];
    if (!entry.role) {
      column.unused = true;
      continue;
    }
    column.entries.push_back(&entry);
    column.wording = {};
    column.wording.role = entry.role;
    column.wording.matched = "channel map";
    column.wording.rank = 1000;  // above any words
    if (!entry.unit.empty()) {
      column.unit_text = entry.unit;
      column.unit = parse_unit(entry.unit);
    }
  }
  if (map.row_interval_s) {
    layout.time_is_row_number = true;
    layout.time_factor = *map.row_interval_s;
    layout.time_column = layout.columns.size();
    layout.own_time.assign(layout.columns.size(), layout.time_column);
  } else if (!map.time_column.empty()) {
    auto& column = layout.columns[column_of(map.time_column, map.time_line)];
    column.wording = {};
    column.wording.says_time = true;
    column.wording.rank = 1000;
    if (!map.time_unit.empty()) {
      column.unit_text = map.time_unit;
      column.unit = parse_unit(map.time_unit);
    }
  }
}

/// Short stand-in for the header texts: FNV-1a over them, in order.
std::string wording_of(const Layout& layout) {
  std::uint64_t hash = 14695981039346656037ULL;
  for (const auto& column : layout.columns)
    for (const char c : column.header + '\n')
      hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  return fmt::format("{:016x}", hash);
}

void sample_cells(Layout& layout, const std::vector<Record>& rows) {
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    auto& column = layout.columns[i];
    for (const auto& row : rows) {
      if (i >= row.cells.size()) continue;
      ++column.sampled;
      const auto& cell = row.cells[i];
      if (is_missing(cell)) {
        ++column.missing;
      } else if (const auto number = parse_number(cell, layout.style)) {
        ++column.numbers;
        if (!column.unit && !number->rest.empty())
          if (const auto unit = parse_unit(number->rest)) {
            column.unit = unit;
            column.unit_text = std::string(number->rest);
          }
      } else if (parse_state_word(cell)) {
        ++column.words;
      }
    }
  }
}

}  // namespace

Layout find_layout(std::string_view head, const std::string& name, const ReadOptions& options) {
  char delimiter = 0;
  HeaderAt header;
  std::vector<Record> records;
  for (const char candidate : {',', ';', '\t', '|'}) {
    auto split = split_head(head, candidate, sampled_records);
    const auto found = find_header(split, candidate);
    if (delimiter == 0 || found.score > header.score) {
      delimiter = candidate;
      header = found;
      records = std::move(split);
    }
  }
  if (header.score <= 0.0) {
    for (const char candidate : {',', ';', '\t', '|'})
      for (const auto& record : split_head(head, candidate, 50))
        if (looks_like_header(record, candidate))
          throw Error(ErrorKind::input, {name, record.line},
                      "no rows: nothing but a header; open the export before leaving the lot");
    throw Error(ErrorKind::input, {name, 1},
                "no header: no line names at least two columns and is followed by rows of values; "
                "export as delimited text (comma, semicolon, tab or |) with a header line");
  }

  Layout layout;
  layout.style.delimiter = delimiter;
  const auto& header_row = records[header.record];
  layout.header_line = header_row.line;
  std::size_t named = width(header_row);
  for (std::size_t i = 0; i < named; ++i) {
    Column column;
    column.header = header_row.cells[i];
    std::replace_if(
        column.header.begin(), column.header.end(),
        [](char c) { return static_cast<unsigned char>(c) < 0x20; }, ' ');
    if (column.header.empty()) column.header = fmt::format("column {}", i + 1);
    layout.columns.push_back(std::move(column));
  }
  if (header.record > 0) {
    const auto& above = records[header.record - 1];
    const bool group = above.cells.size() == header_row.cells.size() && filled(above) >= 1 &&
                       filled(above) < named && width(above) > 1 &&
                       !looks_like_data(above, delimiter) && !is_comment(above);
    if (group) add_group_row(layout, above);
  }
  std::size_t first = header.record + 1;
  std::vector<std::string> units(named);
  while (first < records.size() && (is_blank(records[first]) || is_comment(records[first])))
    ++first;
  if (first < records.size() && looks_like_units(records[first]) &&
      !looks_like_data(records[first], delimiter)) {
    for (std::size_t i = 0; i < named && i < records[first].cells.size(); ++i)
      units[i] = records[first].cells[i];
    ++first;
  }
  layout.data_offset = first < records.size() ? records[first].offset : head.size();
  layout.data_line = first < records.size() ? records[first].line : 0;
  layout.style.decimal = find_decimal(records, first, delimiter);

  std::vector<Record> rows;
  for (std::size_t k = first; k < records.size(); ++k)
    if (!is_blank(records[k]) && !is_comment(records[k]) && looks_like_data(records[k], delimiter))
      rows.push_back(std::move(records[k]));
  if (rows.empty())
    throw Error(ErrorKind::input, {name, layout.header_line},
                "no rows: nothing follows the header");

  const auto too_long = static_cast<std::size_t>(std::count_if(
      rows.begin(), rows.end(), [&](const Record& row) { return width(row) > named; }));
  if (too_long * 2 > rows.size())
    throw Error(
        ErrorKind::input, {name, layout.data_line},
        fmt::format("the rows have more cells than the header names ({} against {}): decimal "
                    "commas between comma delimiters cannot be told apart; export with "
                    "semicolons, or with decimal points",
                    width(rows.front()), named));

  std::vector<std::string> names, headers;
  for (const auto& column : layout.columns) headers.push_back(column.header);
  std::vector<std::optional<Unit>> unit_list;
  for (std::size_t i = 0; i < named; ++i) {
    auto& column = layout.columns[i];
    split_header(column);
    // Two columns with one text must still be told apart, in messages and in channel maps.
    std::size_t twins = 1;
    for (std::size_t k = 0; k < i; ++k) twins += headers[k] == headers[i] ? 1 : 0;
    if (twins > 1) column.header += fmt::format(" #{}", twins);
    auto unit = std::string_view(units[i]);
    if (unit.size() > 2 && (unit.front() == '[' || unit.front() == '(')) {
      unit.remove_prefix(1);
      unit.remove_suffix(1);
    }
    if (!unit.empty() && !is_missing(unit)) {
      column.unit_text = std::string(unit);
      column.unit = parse_unit(unit);
    }
  }
  sample_cells(layout, rows);
  for (const auto& column : layout.columns) {
    names.push_back(column.name);
    unit_list.push_back(column.unit);
  }
  const auto wordings = recognise_words(names, unit_list, options.car);
  for (std::size_t i = 0; i < named; ++i) layout.columns[i].wording = wordings[i];
  layout.wording = wording_of(layout);
  const ChannelMap* map = options.map;
  if (map == nullptr && options.remembered_map) map = options.remembered_map(layout.wording);
  if (map != nullptr) apply_map(layout, *map, name);
  if (!layout.time_is_row_number) choose_time(layout, rows, name);
  settle_claims(layout, name, options.first_claim_wins);
  return layout;
}

}  // namespace stopledger
