#include "log/block.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "log/text.h"

namespace stopledger {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

bool same_cells(const std::vector<std::string_view>& cells, const std::vector<Column>& columns) {
  std::size_t same = 0, filled = 0;
  for (std::size_t i = 0; i < columns.size() && i < cells.size(); ++i) {
    const auto cell = trim(cells[i]);
    if (cell.empty()) continue;
    ++filled;
    same += columns[i].header == cell ? 1 : 0;
  }
  return filled >= 2 && same * 2 > filled;
}

}  // namespace

void RowBlock::clear(std::size_t columns) {
  rows = 0;
  lines = 0;
  if (values.size() != columns) {
    values.assign(columns, {});
    stamp.clear();
  }
  defects = {};
  defects.bad_cells.resize(columns);
  defects.bad_example.resize(columns);
}

void RowBlock::reserve(std::size_t wanted) {
  if (wanted <= stamp.size()) return;
  stamp.resize(wanted);
  line.resize(wanted);
  for (auto& column : values) column.resize(wanted);
}

Typer::Typer(const Layout& layout, bool fast) : layout_(layout) {
  slot_.assign(layout.columns.size(), skipped);
  on_words_.resize(layout.columns.size());
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    if (i == layout.time_column) {
      slot_[i] = time_stamp;
    } else if (layout.tracked(i) || std::find(layout.own_time.begin(), layout.own_time.end(), i) !=
                                        layout.own_time.end()) {
      slot_[i] = static_cast<int>(columns_.size());
      columns_.push_back(i);
      for (const auto* entry : layout.columns[i].entries)
        if (!entry->on.empty()) on_words_[i] = fold_text(trim(entry->on));
    }
  }
  fast_ = fast && !layout.time_is_row_number && !layout.date_column;
}

void Typer::type(std::string_view text, bool last, RowBlock& block) const {
  block.clear(columns_.size());
  const bool simple = fast_ && text.find('"') == std::string_view::npos &&
                      text.find('\0') == std::string_view::npos;
  block.lines = simple ? type_fast(text, last, block) : type_plainly(text, last, 0, block);
}

bool Typer::stamp_of_cell(std::string_view cell, double& stamp) const {
  const auto time = parse_time(cell, layout_.style);
  if (!time) return false;
  const bool wants_number = layout_.time_form == TimeForm::number;
  if (wants_number != (time->form == TimeForm::number)) return false;
  stamp = wants_number ? time->seconds * layout_.time_factor : time->seconds;
  return std::isfinite(stamp) && std::abs(stamp) < 1e13;
}

bool Typer::stamp_of(const std::vector<std::string_view>& cells, double& stamp) const {
  if (layout_.time_is_row_number) return true;  // Gather counts
  if (layout_.time_column >= cells.size() || !stamp_of_cell(cells[layout_.time_column], stamp))
    return false;
  if (!layout_.date_column) return true;
  if (*layout_.date_column >= cells.size()) return false;
  const auto date = parse_time(cells[*layout_.date_column], layout_.style);
  if (!date || date->form != TimeForm::date) return false;
  stamp += date->seconds;
  return true;
}

bool Typer::value_of_cell(std::string_view cell, std::size_t column, double& value) const {
  value = missing;
  if (const auto number = parse_number(cell, layout_.style);
      number && std::abs(number->value) < word_base &&
      (number->rest.empty() || parse_unit(number->rest))) {
    value = number->value;
    return true;
  }
  if (const auto& on = on_words_[column]; !on.empty() && !is_missing(cell)) {
    value = word_value(fold_text(trim(cell)) == on ? StateWord::on : StateWord::off);
    return true;
  }
  if (const auto word = parse_state_word(cell)) {
    value = word_value(*word);
    return true;
  }
  return is_missing(cell);
}

std::size_t Typer::type_plainly(std::string_view text, bool last, std::size_t first_line,
                                RowBlock& block) const {
  RecordSplitter splitter(text, layout_.style.delimiter, first_line);
  std::vector<std::string_view> cells;
  const std::size_t named = layout_.columns.size();
  while (splitter.next(cells)) {
    const std::size_t line = splitter.line();
    std::size_t width = cells.size();
    while (width > 0 && trim(cells[width - 1]).empty()) --width;
    if (width == 0) continue;
    const auto first = trim(cells[0]);
    if (first.starts_with('#') || first.starts_with("//")) continue;
    const bool cut = last && splitter.offset() >= text.size() && text.back() != '\n' &&
                     text.back() != '\r' && cells.size() < named;
    if (cut) {
      block.defects.cut_last.add(line);
      continue;
    }
    if (width > named) {
      block.defects.too_long.add(line);
      continue;
    }
    double stamp = 0.0;
    if (!stamp_of(cells, stamp)) {
      if (same_cells(cells, layout_.columns)) {
        block.defects.header_again.add(line);
        continue;
      }
      const auto lettered = static_cast<std::size_t>(
          std::count_if(cells.begin(), cells.end(), [&](std::string_view cell) {
            return !is_missing(cell) && !parse_number(cell, layout_.style) &&
                   !parse_state_word(cell) && !parse_time(cell, layout_.style);
          }));
      if (width >= 2 && lettered == width) {
        block.defects.second_table.add(line);
        break;
      }
      const bool has_stamp_cell =
          layout_.time_column < cells.size() && !is_missing(cells[layout_.time_column]);
      (has_stamp_cell ? block.defects.not_understood : block.defects.no_time).add(line);
      continue;
    }
    if (cells.size() < named && width + 1 < named) block.defects.too_short.add(line);
    if (block.rows == block.stamp.size()) block.reserve(2 * block.rows + 64);
    const std::size_t row = block.rows++;
    block.stamp[row] = stamp;
    block.line[row] = static_cast<std::uint32_t>(line);
    for (std::size_t k = 0; k < columns_.size(); ++k) {
      double value = missing;
      if (columns_[k] < cells.size() && !value_of_cell(cells[columns_[k]], columns_[k], value)) {
        if (block.defects.bad_cells[k].count == 0)
          block.defects.bad_example[k] = trim(cells[columns_[k]]).substr(0, 40);
        block.defects.bad_cells[k].add(line);
      }
      block.values[k][row] = value;
    }
  }
  return splitter.next_line();
}

}  // namespace stopledger
