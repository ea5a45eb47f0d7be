#include "log/head.h"

#include <algorithm>
#include <functional>
#include <iterator>

#include "log/cell.h"
#include "log/clock.h"
#include "log/text.h"
#include "log/unit.h"

namespace stopledger {

Head split_head(std::string_view head, char delimiter, std::size_t most) {
  RecordSplitter splitter(head, delimiter);
  Head split;
  std::vector<std::string_view> cells;
  const std::less_equal<const char*> not_after;
  for (std::size_t at = 0; split.rows.size() < most; at = splitter.offset()) {
    if (!splitter.next(cells)) break;
    for (auto& cell : cells) {
      const bool lasts = not_after(head.data(), cell.data()) &&
                         not_after(cell.data() + cell.size(), head.data() + head.size());
      if (!lasts) cell = split.unescaped.emplace_back(cell);
      cell = trim(cell);
    }
    split.rows.push_back({cells, splitter.line(), at});
  }
  return split;
}

bool is_blank(const HeadRow& record) {
  return std::all_of(record.cells.begin(), record.cells.end(),
                     [](std::string_view cell) { return cell.empty(); });
}

bool is_comment(const HeadRow& record) {
  return !record.cells.empty() &&
         (record.cells[0].starts_with('#') || record.cells[0].starts_with("//"));
}

bool has_letter(std::string_view cell) {
  return std::any_of(cell.begin(), cell.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
           static_cast<unsigned char>(c) >= 0x80;
  });
}

namespace {

/// A number or a time stamp, in either decimal style.
bool is_value(std::string_view cell, char delimiter) {
  if (cell.empty() || has_letter(cell.substr(0, 1))) return false;
  return parse_time(cell, {'.', delimiter}) || parse_time(cell, {',', delimiter}) ||
         parse_number(cell, {'.', delimiter}) || parse_number(cell, {',', delimiter});
}

}  // namespace

std::size_t filled(const HeadRow& record) {
  return static_cast<std::size_t>(
      std::count_if(record.cells.begin(), record.cells.end(),
                    [](std::string_view cell) { return !cell.empty(); }));
}

std::size_t width(const HeadRow& record) {
  std::size_t n = record.cells.size();
  while (n > 0 && record.cells[n - 1].empty()) --n;
  return n;
}

bool looks_like_header(const HeadRow& record, char delimiter) {
  if (filled(record) < 2) return false;
  std::size_t lettered = 0;
  for (const auto cell : record.cells) {
    if (is_value(cell, delimiter)) return false;
    lettered += has_letter(cell) ? 1 : 0;
  }
  return lettered >= 2;
}

bool looks_like_data(const HeadRow& record, char delimiter) {
  return std::any_of(record.cells.begin(), record.cells.end(),
                     [&](std::string_view cell) { return is_value(cell, delimiter); });
}

bool looks_like_units(const HeadRow& record) {
  constexpr std::string_view no_units[] = {"on/off",   "0/1",        "bool",         "boolean",
                                           "hh:mm:ss", "hh:mm:ss.s", "hh:mm:ss.sss", "state",
                                           "bit",      "text",       "flag"};
  // A word in a unit's place that is not known here is short; two thirds must be known.
  constexpr std::size_t longest_unit = 8;
  std::size_t units = 0, unknown = 0;
  for (const auto& cell : record.cells) {
    auto text = std::string_view(cell);
    if (text.size() > 2 && (text.front() == '[' || text.front() == '(')) {
      text.remove_prefix(1);
      text.remove_suffix(1);
    }
    if (is_missing(text)) continue;
    const auto folded = fold_text(text);
    if (parse_unit(text) ||
        std::find(std::begin(no_units), std::end(no_units), folded) != std::end(no_units))
      ++units;
    else if (folded.size() <= longest_unit && folded.find(' ') == std::string_view::npos)
      ++unknown;
    else
      return false;
  }
  return units >= 1 && units >= 2 * unknown;
}

HeaderAt find_header(const std::vector<HeadRow>& records, char delimiter) {
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

char find_decimal(const std::vector<HeadRow>& records, std::size_t first, char delimiter) {
  const bool any_comma = std::any_of(records.begin(), records.end(), [](const HeadRow& row) {
    return std::any_of(row.cells.begin(), row.cells.end(), [](std::string_view cell) {
      return cell.find(',') != std::string_view::npos;
    });
  });
  if (!any_comma) return '.';
  std::size_t comma = 0, comma_three = 0, point = 0, point_three = 0;
  for (std::size_t k = first; k < records.size(); ++k)
    for (const auto& cell : records[k].cells) {
      const auto mark = cell.find_first_of(".,");
      if (mark == std::string_view::npos || mark == 0) continue;
      if (cell.find_first_not_of("0123456789-+.,eE") != std::string_view::npos) continue;
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

}  // namespace stopledger
