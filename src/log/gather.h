#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <vector>

#include "log/block.h"
#include "log/clock.h"
#include "log/layout.h"
#include "log/thinned.h"
#include "log/updates.h"

namespace stopledger {

/// What one pass over the rows has learnt of one tracked column; values as written.
struct Track {
  std::uint64_t cells = 0;  ///< filled cells
  bool any_number = false;
  double min = 0.0, max = 0.0;             ///< of the numbers
  std::size_t min_line = 0, max_line = 0;  ///< file line of the first of each
  std::vector<double> levels;  ///< distinct numbers while there are at most `most_levels`
  bool many_levels = false;
  std::array<bool, 7> words{};  ///< which StateWords occur
  ChangeLog changes;
  Thinned spacing_s;  ///< time from one filled cell to the next, where cells are blank between

  /// Kept samples: log time, value as written, number of the filled cell, segment's first.
  std::vector<double> t, value;
  std::vector<std::uint32_t> cell;
  std::vector<std::uint32_t> segment_starts;  ///< indices into `t`
  bool thinned = false;                       ///< not every filled cell is kept

  static constexpr std::size_t most_levels = 16;
};

/// Follows the rows in file order in bounded memory.
///
/// Counts, ranges and changes are of every row. Samples are all kept while there are few; beyond
/// that, rows far from any event (hard slowing or spinning up, a valve, pump, control or brake
/// switch changing, pressure rising) are thinned to ten a second and fewer, and rows in events to
/// 250 a second; changes of states are always kept.
class Gather {
 public:
  Gather(const Layout& layout, std::vector<std::size_t> columns);

  /// Takes the next block out of `block`; `first_line` is the file line of its line 0.
  void add(RowBlock& block, std::size_t first_line);
  /// After the last block.
  void finish(Log& log);

  [[nodiscard]] std::vector<Track>& tracks() { return tracks_; }
  [[nodiscard]] const std::vector<std::size_t>& columns() const { return columns_; }
  [[nodiscard]] std::uint64_t rows() const { return rows_; }
  /// Usual time from row to row.
  [[nodiscard]] double row_spacing() const { return row_spacing_.typical(); }

 private:
  // Chosen: ten a second show a quiet drive; quiet stretches are thinned again when there are more
  // kept samples (20 bytes each) than the second figure.
  static constexpr double first_quiet_step_s = 0.1;
  static constexpr std::uint64_t most_quiet_samples = 1'000'000;

  /// What a column is watched for.
  enum class Watch { nothing, state, speed, pressure };

  /// Rows that wait until it is known whether an event is near.
  struct Pending {
    RowBlock block;
    std::size_t first_line = 0;  // of the file, of the block's line 0
    std::vector<double> t;
    std::vector<std::size_t> segment_begins;  // rows that begin one
    std::vector<std::uint64_t> first_cell;    // per track
    std::vector<std::uint32_t> changes;       // per track: how many in this block
  };

  /// Reading state of one track between blocks.
  struct Cursor {
    double last = 0.0, last_t = 0.0;
    bool has_last = false;
    Watch watch = Watch::nothing;
    double si_factor = 1.0;
    double ref_t = 0.0, ref_v = 0.0;
    bool has_ref = false;
    double kept_t = 0.0;
    bool has_kept = false;
  };

  void run_clock(Pending& rows, std::size_t first_line);
  void scan(std::size_t k, Pending& rows);
  void place_extremes(std::size_t k, const Pending& rows, bool low, bool high);
  void scan_stretch(std::size_t k, Pending& rows, std::size_t begin, std::size_t end);
  void change(Track& track, Cursor& cursor, double t, double value, std::uint64_t cell, bool log);
  void watch_slope(std::size_t k, const Pending& rows);
  void mark_event(double t);
  [[nodiscard]] bool near_event(double t) const;
  void store(Pending& rows);
  void store_all(std::size_t k, const Pending& rows);
  void store_some(std::size_t k, const Pending& rows, const std::vector<std::uint32_t>& grid);
  void append(std::size_t k, const Pending& rows, std::size_t row, std::uint64_t cell);
  void thin_again();
  void merge_defects(const RowBlock& block, std::size_t first_line);

  const Layout& layout_;
  std::vector<std::size_t> columns_;
  std::vector<std::optional<std::size_t>> own_time_;  // index of a tracked column, per column
  std::vector<Track> tracks_;
  std::vector<Cursor> cursors_;
  Clock clock_;
  Thinned row_spacing_;
  double last_row_t_ = 0.0;
  std::uint64_t rows_ = 0, rows_skipped_ = 0, kept_ = 0;
  BlockDefects defects_;
  std::deque<Pending> pending_;
  std::vector<Pending> spare_;       // emptied, to be used again
  std::vector<bool> event_seconds_;  // log time in whole seconds
  double quiet_step_s_ = first_quiet_step_s;
  std::uint64_t thin_limit_ = most_quiet_samples;
};

}  // namespace stopledger
