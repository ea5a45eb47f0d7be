#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "log/cell.h"
#include "log/layout.h"

namespace stopledger {

/// Cells that are words travel as numbers from here up, beyond anything a recorder writes.
inline constexpr double word_base = 1e15;
inline double word_value(StateWord word) { return word_base + static_cast<double>(word); }
inline bool is_word(double value) { return value >= word_base; }
inline StateWord word_of(double value) { return static_cast<StateWord>(value - word_base); }

/// What one stretch of text had that could not be used; lines count from the block's first.
struct BlockDefects {
  struct Count {
    std::size_t count = 0;
    std::size_t line = 0;  ///< of the first one
    void add(std::size_t at) {
      if (count++ == 0) line = at;
    }
    bool operator==(const Count&) const = default;
  };
  Count no_time, too_long, too_short, header_again, not_understood, second_table, cut_last;
  std::vector<Count> bad_cells;          ///< per tracked column
  std::vector<std::string> bad_example;  ///< per tracked column: text of the first one
  bool operator==(const BlockDefects&) const = default;
};

/// The rows of one stretch of text, typed: one array per tracked column. The arrays may be longer
/// than `rows`; what lies beyond means nothing.
struct RowBlock {
  std::size_t rows = 0;
  std::vector<double> stamp;                ///< time stamp in seconds, as the clock showed it
  std::vector<std::uint32_t> line;          ///< from the block's first line, 0-based
  std::vector<std::vector<double>> values;  ///< [tracked column][row]; NaN: missing
  std::size_t lines = 0;                    ///< lines of text in the block
  BlockDefects defects;

  void clear(std::size_t columns);
  /// Room for that many rows.
  void reserve(std::size_t wanted);
};

/// Types whole records of text by a layout; keeps nothing between calls, so that pieces of a file
/// may be typed in any order and on any thread.
class Typer {
 public:
  /// `layout` must outlive the typer. `fast`: use the fast path where it applies; the result is
  /// the same.
  explicit Typer(const Layout& layout, bool fast = true);

  /// Tracked columns in file order: `values[k]` belongs to column `columns()[k]`.
  [[nodiscard]] const std::vector<std::size_t>& columns() const { return columns_; }
  [[nodiscard]] char delimiter() const { return layout_.style.delimiter; }

  /// Types `text`, which ends at a record's end unless it is the `last` of the file.
  void type(std::string_view text, bool last, RowBlock& block) const;

 private:
  struct Seen;
  struct Row;

  /// Rows by the general rules; `line` is the number of the first. Returns the lines used.
  std::size_t type_plainly(std::string_view text, bool last, std::size_t line,
                           RowBlock& block) const;
  /// Rows without quotes and oddities, byte by byte; hands anything else to type_plainly.
  std::size_t type_fast(std::string_view text, bool last, RowBlock& block) const;
  /// Row `number` of the block at `p`; the end of it, or nullptr when it is not a simple one.
  const char* fast_row(const char* p, const char* end, std::vector<Seen>& seen, Row& row,
                       std::size_t number) const;
  /// The same for one cell.
  const char* fast_cell(const char* begin, std::size_t column, Seen& cell, std::size_t row) const;
  /// A number at `p`, up to its cell's end; nullptr when the cell holds anything else.
  const char* fast_number(const char* p, std::size_t column, Seen& cell, double& value) const;

  [[nodiscard]] bool stamp_of(const std::vector<std::string_view>& cells, double& stamp) const;
  [[nodiscard]] bool stamp_of_cell(std::string_view cell, double& stamp) const;
  /// The value of one cell, NaN when it is missing; false when it is not understood.
  [[nodiscard]] bool value_of_cell(std::string_view cell, std::size_t column, double& value) const;

  const Layout& layout_;
  std::vector<std::size_t> columns_;
  std::vector<std::string> on_words_;  // per file column: folded, of the channel map, or ""
  std::vector<int> slot_;              // per file column: tracked index, or one of the two below
  bool fast_ = false;

  static constexpr int skipped = -1;
  static constexpr int time_stamp = -2;
};

}  // namespace stopledger
