#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "log/cell.h"
#include "log/channel_map.h"
#include "log/clock.h"
#include "log/log.h"
#include "log/reader.h"
#include "log/unit.h"
#include "log/words.h"

namespace stopledger {

/// One column as its header and its first cells show it.
struct Column {
  std::string header;  ///< as written, trimmed
  std::string name;    ///< without its unit
  std::string unit_text;
  std::optional<Unit> unit;
  Wording wording;
  std::vector<const ChannelMapEntry*> entries;  ///< of the channel map
  bool unused = false;                          ///< the channel map said so
  /// Of the first cells, those with a value, and those with a number and nothing after it.
  std::size_t filled = 0, bare_numbers = 0;
};

/// How one file's text becomes rows: found from its first part.
struct Layout {
  NumberStyle style;
  std::vector<Column> columns;
  std::size_t header_line = 0;
  std::size_t data_offset = 0;  ///< of the first data record in the head
  std::size_t data_line = 0;
  std::size_t time_column = 0;
  TimeForm time_form = TimeForm::number;
  double time_factor = 1.0;  ///< seconds per written unit, for numbers
  std::optional<std::size_t> date_column;
  std::string wording;                ///< see Log
  bool time_is_row_number = false;    ///< rows are `time_factor` seconds apart (channel map)
  std::vector<std::size_t> own_time;  ///< per column: its own time column, or `time_column`
  std::vector<std::string> notes;
  std::vector<LogDefect> defects;

  /// Columns whose cells are typed: those with a claim to a role.
  [[nodiscard]] bool tracked(std::size_t column) const {
    return columns[column].wording.role.has_value() && !columns[column].unused;
  }
};

/// Finds delimiter, decimal mark, header, units, time and roles from the first part of a file.
///
/// `head`: UTF-8 text, the whole file or its first megabyte, ending with a whole record.
/// Errors: Error(input) when there is no header, no time, no rows, or two columns for one role.
Layout find_layout(std::string_view head, const std::string& name, const ReadOptions& options);

}  // namespace stopledger
