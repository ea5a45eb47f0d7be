#include "log/layout.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>

#include "base/error.h"
#include "log/column_claims.h"
#include "log/head.h"
#include "log/header_text.h"
#include "log/text.h"
#include "log/time_column.h"

namespace stopledger {
namespace {

constexpr std::size_t sampled_records = 1500;

/// Names of the group row above the header go in front: "Wheel speed" over "FL", "FR", ...
void add_group_row(Layout& layout, const HeadRow& above) {
  std::string group;
  for (std::size_t i = 0; i < layout.columns.size() && i < above.cells.size(); ++i) {
    if (!above.cells[i].empty()) group = above.cells[i];
    if (!group.empty()) layout.columns[i].header = group + " " + layout.columns[i].header;
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

/// What the first cells show of their columns: units written in them, and how many are numbers.
void sample_cells(Layout& layout, const std::vector<HeadRow>& rows) {
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    auto& column = layout.columns[i];
    std::optional<std::string_view> above;
    bool missing = false, bare = false;
    for (const auto& row : rows) {
      if (i >= row.cells.size()) continue;
      const auto cell = row.cells[i];
      if (above != cell) {  // most cells repeat the one above
        missing = is_missing(cell);
        const auto number = missing ? std::nullopt : parse_number(cell, layout.style);
        bare = number && number->rest.empty();
        if (number && !bare && !column.unit)
          if (const auto unit = parse_unit(number->rest)) {
            column.unit = unit;
            column.unit_text = std::string(number->rest);
          }
        above = cell;
      }
      column.filled += missing ? 0 : 1;
      column.bare_numbers += bare ? 1 : 0;
    }
  }
}

}  // namespace

Layout find_layout(std::string_view head, const std::string& name, const ReadOptions& options) {
  char delimiter = 0;
  HeaderAt header;
  Head split;
  for (const char candidate : {',', ';', '\t', '|'}) {
    if (head.find(candidate) == std::string_view::npos) continue;  // no line has two cells
    auto cut = split_head(head, candidate, sampled_records);
    const auto found = find_header(cut.rows, candidate);
    if (found.score > header.score) {
      delimiter = candidate;
      header = found;
      split = std::move(cut);
    }
  }
  auto& records = split.rows;
  if (header.score <= 0.0) {
    for (const char candidate : {',', ';', '\t', '|'}) {
      const auto start = split_head(head, candidate, 50);
      for (const auto& record : start.rows)
        if (looks_like_header(record, candidate))
          throw Error(ErrorKind::input, {name, record.line},
                      "no rows: nothing but a header; open the export before leaving the lot");
    }
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
    column.header = std::string(header_row.cells[i]);
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
  std::vector<std::string_view> units(named);
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

  std::vector<HeadRow> rows;
  for (std::size_t k = first; k < records.size(); ++k)
    if (!is_blank(records[k]) && !is_comment(records[k]) && looks_like_data(records[k], delimiter))
      rows.push_back(std::move(records[k]));
  if (rows.empty())
    throw Error(ErrorKind::input, {name, layout.header_line},
                "no rows: nothing follows the header");

  const auto too_long = static_cast<std::size_t>(std::count_if(
      rows.begin(), rows.end(), [&](const HeadRow& row) { return width(row) > named; }));
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
    auto unit = units[i];
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
  for (std::size_t i = 0; i < named; ++i) {
    layout.columns[i].wording = wordings[i];
    mend_slashless_unit(layout.columns[i]);
  }
  layout.wording = wording_of(layout);
  const ChannelMap* map = options.map;
  if (map == nullptr && options.remembered_map) map = options.remembered_map(layout.wording);
  if (map != nullptr) apply_map(layout, *map, name);
  if (!layout.time_is_row_number) choose_time(layout, rows, name);
  settle_claims(layout, name, options.first_claim_wins);
  return layout;
}

}  // namespace stopledger
