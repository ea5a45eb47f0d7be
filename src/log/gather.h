#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "log/block.h"
#include "log/clock.h"
#include "log/layout.h"
#include "log/updates.h"

namespace stopledger {

/// Every k-th of many numbers, k growing so that memory stays bounded.
class Thinned {
 public:
  void add(double value);
  /// The usual value: the median where most lie close to it, else the mean of those up to five
  /// times the median, so that gaps are left out. 0 when there are none.
  [[nodiscard]] double typical() const;

 private:
  std::vector<double> values_;
  std::uint64_t seen_ = 0, stride_ = 1;
};

/// What one pass over the rows has learnt of one tracked column; values as written.
struct Track {
  std::uint64_t cells = 0;  ///< filled cells
  std::uint64_t numbers = 0;
  double min = 0.0, max = 0.0;  ///< of the numbers
  std::vector<double> levels;   ///< distinct numbers while there are at most `most_levels`
  bool many_levels = false;
  std::array<std::uint64_t, 7> words{};  ///< how often each StateWord
  ChangeLog changes;
  Thinned spacing_s;  ///< time from one filled cell to the next
  double last = 0.0, last_t = 0.0;
  bool has_last = false;
  std::size_t segment = 0;

  /// Kept samples: log time, value as written, number of the filled cell, segment's first.
  std::vector<double> t, value;
  std::vector<std::uint32_t> cell;
  std::vector<std::uint32_t> segment_starts;  ///< indices into `t`

  static constexpr std::size_t most_levels = 16;
};

/// Follows the rows in file order.
class Gather {
 public:
  Gather(const Layout& layout, std::vector<std::size_t> columns);

  /// Takes the next block; `first_line` is the file line of its line 0.
  void add(const RowBlock& block, std::size_t first_line);
  /// After the last block.
  void finish(Log& log);

  [[nodiscard]] std::vector<Track>& tracks() { return tracks_; }
  [[nodiscard]] const std::vector<std::size_t>& columns() const { return columns_; }
  [[nodiscard]] std::uint64_t rows() const { return rows_; }

 private:
  void cell(Track& track, double t, double value, std::size_t segment);

  const Layout& layout_;
  std::vector<std::size_t> columns_;
  std::vector<std::optional<std::size_t>> own_time_;  // index of a tracked column, per column
  std::vector<Track> tracks_;
  Clock clock_;
  std::uint64_t rows_ = 0, rows_skipped_ = 0;
  BlockDefects defects_;
};

}  // namespace stopledger
