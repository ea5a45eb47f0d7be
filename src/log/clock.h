#pragma once

#include <algorithm>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "log/cell.h"
#include "log/log.h"

namespace stopledger {

/// How a time stamp is written.
enum class TimeForm {
  number,     ///< a count of some unit
  clock,      ///< time of day; wraps at midnight
  clock12,    ///< time of day of 12 hours without AM/PM; wraps every 12 hours
  date_time,  ///< date and time of day
  date        ///< a date alone; needs a clock column beside it
};

struct TimeCell {
  TimeForm form = TimeForm::number;
  double seconds = 0.0;  ///< clock: since midnight; date: since 1970-01-01; number: as written
};

/// Reads one time stamp: a number, "8:19:47.605", "12:05:01,2 PM", "47:12.5" (minutes), ISO 8601 /
/// RFC 3339 ("2026-11-25T08:19:47Z"), "25.11.2026 08:19:47", "11/25/2026 8:19 AM". Only differences
/// are used later, so an offset from UTC is applied and a missing zone is no matter.
std::optional<TimeCell> parse_time(std::string_view cell, const NumberStyle& style);

/// Turns the stamps of the rows, in file order, into log time with segments.
///
/// Log time starts at 0 with the first stamp, runs with the recorder's clock and does not decrease.
/// Taken out: midnight and 12-hour wraps, a daylight-saving hour, steps of the clock. A restart or
/// a long gap begins a new segment; single rows out of order are skipped. Each is counted.
class Clock {
 public:
  explicit Clock(TimeForm form) : form_(form) {}

  /// Log time of the row with that stamp, or nothing when the row is to be skipped. `next` is the
  /// stamp of the row after it, when there is one: it tells a single wrong stamp from a step.
  std::optional<double> row(double stamp, std::optional<double> next, std::size_t line);

  /// The same for a row that follows the one before at about the usual step, as nearly all do: its
  /// log time into `t`. False, and nothing changed, for any other row.
  bool ordinary_row(double stamp, double& t) {
    const double d = stamp - last_stamp_;
    if (!(d > 0.0 && d <= 2.0 * typical_step_) || typical_step_ > 1.0 || steps_seen_ < 20 ||
        held_back_ > 0)
      return false;
    last_stamp_ = stamp;
    t = last_t_ += d;
    learn_step(d);
    segments_.back().end_s = last_t_;
    return true;
  }

  /// Segments, counts and notes; call once after the last row.
  void finish(Log& log);

  /// Number of the running segment, from 0.
  [[nodiscard]] std::size_t segment() const { return segments_.size() - 1; }

 private:
  void begin_segment(double t);
  /// A running median: moves towards each new step by a bounded share.
  void learn_step(double d) {
    if (steps_seen_ == 0) typical_step_ = d;
    const double share = steps_seen_ < 20 ? 0.3 : 0.05;
    typical_step_ += share * typical_step_ * std::clamp(d / typical_step_ - 1.0, -1.0, 1.0);
    ++steps_seen_;
  }
  void count(LogDefect& defect, std::size_t line, std::size_t by = 1);
  [[nodiscard]] double step() const;

  TimeForm form_;
  bool started_ = false;
  double first_stamp_ = 0.0, last_stamp_ = 0.0;
  double last_t_ = 0.0;
  double typical_step_ = 0.0;  // running median-like estimate of the row step
  std::size_t steps_seen_ = 0;
  std::size_t held_back_ = 0;  // rows skipped in a row because they lie before the last one
  std::vector<Segment> segments_;
  LogDefect out_of_order_{0, 0, ""}, restarts_{0, 0, ""}, clock_steps_{0, 0, ""}, gaps_{0, 0, ""},
      duplicates_{0, 0, ""};
  double longest_gap_ = 0.0;
};

}  // namespace stopledger
