#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "log/role.h"

namespace stopledger {

/// Samples of one channel on its own clock.
///
/// Shape:  `t_s` and `value` of equal length; `t_s` in seconds from the first time stamp of the
///         log, not decreasing within a segment.
/// Unit:   SI by the role (see QuantityKind).
/// Gaps:   missing cells are left out; there are no NaNs.
struct Series {
  std::vector<double> t_s;
  std::vector<double> value;

  [[nodiscard]] std::size_t size() const { return t_s.size(); }
  [[nodiscard]] bool empty() const { return t_s.empty(); }
};

/// One recognised column.
///
/// `series` holds fresh samples only: repeats that the recorder only held are left out. Away from
/// events (see design: memory follows the events) the series may be thinned; `rate_hz`, `samples`
/// and the counts are always of the whole file.
struct Channel {
  Role role;
  std::string column;             ///< header text as written
  std::string unit;               ///< unit as written; "" when none was found
  bool unit_known = true;         ///< false: the column is scaled by assumption and `notes` says so
  std::string recognised_by;      ///< why this role: the words that matched, or "channel map"
  std::optional<double> rate_hz;  ///< true update rate while recorded; nothing below two samples
  std::size_t samples = 0;        ///< fresh samples in the whole file
  bool repeats_held = false;      ///< the file repeats this channel's last value between updates
  bool is_duty = false;           ///< state channel given as a share between 0 and 1
  std::optional<double> quantum;  ///< step of the written values, in SI, when they are quantised
  /// Known offset of this channel's read time after the row's stamp (s); 0 when not estimated.
  double read_skew_s = 0.0;
  double read_skew_se_s = 0.0;  ///< standard error of the above; 0 when not estimated
  /// Largest plausible read-time error of one sample (s): a polling round for round-robin logs.
  double time_uncertainty_s = 0.0;
  std::size_t invalid = 0;         ///< cells left out because they hold no speed
  std::size_t invalid_moving = 0;  ///< of these: while the car moved
  std::string invalid_what;  ///< "-40, below zero ..., first in line 12"; "" when there are none
  Series series;
};

/// A stretch of the log with a running clock; nothing is ever interpolated across two.
struct Segment {
  double start_s = 0.0;
  double end_s = 0.0;
};

/// Something in the file that was not used, kept so that nothing is dropped silently.
struct LogDefect {
  std::size_t line = 0;  ///< 1-based line in the file; the first one of `count`
  std::size_t count = 1;
  std::string what;  ///< "12 cells of column \"RL speed\" are not numbers"
};

/// A column that is not used until someone says what it is.
struct LogQuestion {
  std::string column;              ///< header text as written
  std::string why;                 ///< what is not certain, without the column's name
  std::optional<Role> suggestion;  ///< the likeliest answer; a written channel map offers it
  bool unit_open = false;          ///< it is the unit that is asked
};

/// One recording as the rest of the program sees it.
struct Log {
  std::string file;      ///< as given on the command line, "-" for standard input
  std::string sha256;    ///< of the file's bytes as stored, lower-case hex
  std::string wording;   ///< stands for the header texts: the same recorder writes the same ones
  std::size_t rows = 0;  ///< data rows used
  std::size_t rows_skipped = 0;
  double duration_s = 0.0;  ///< last minus first time stamp, clock steps taken out
  std::vector<Segment> segments;
  std::vector<Channel> channels;  ///< one per role, in column order
  std::vector<std::string> unused_columns;
  std::vector<std::string> notes;  ///< one sentence each, for the reader
  std::vector<LogDefect> defects;
  std::vector<LogQuestion> questions;  ///< also in `notes`, columns of one question together

  /// The channel of that role, or nullptr.
  [[nodiscard]] const Channel* find(const Role& role) const {
    for (const Channel& channel : channels)
      if (channel.role == role) return &channel;
    return nullptr;
  }
};

}  // namespace stopledger
