#pragma once

#include <cstddef>
#include <cstdint>
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
  };
  Count no_time, too_long, too_short, header_again, not_understood, second_table, cut_last;
  std::vector<Count> bad_cells;  ///< per tracked column
};

/// The rows of one stretch of text, typed: one array per tracked column.
struct RowBlock {
  std::size_t rows = 0;
  std::vector<double> stamp;                ///< time stamp in seconds, as the clock showed it
  std::vector<std::uint32_t> line;          ///< from the block's first line, 0-based
  std::vector<std::vector<double>> values;  ///< [tracked column][row]; NaN: missing
  std::size_t lines = 0;                    ///< lines of text in the block
  BlockDefects defects;

  void clear(std::size_t columns);
};

/// Types whole records of text by a layout; keeps nothing between calls.
class Typer {
 public:
  /// `layout` must outlive the typer.
  explicit Typer(const Layout& layout);

  /// Tracked columns in file order: `values[k]` belongs to column `columns()[k]`.
  [[nodiscard]] const std::vector<std::size_t>& columns() const { return columns_; }

  /// Types `text`, which ends at a record's end unless it is the `last` of the file.
  void type(std::string_view text, bool last, RowBlock& block) const;

 private:
  [[nodiscard]] bool stamp_of(const std::vector<std::string_view>& cells, std::size_t column,
                              double& stamp) const;

  const Layout& layout_;
  std::vector<std::size_t> columns_;
};

}  // namespace stopledger
