#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "log/log.h"

namespace stopledger {

/// How many values a recorder brings, and how they are shared among channels.
struct Recorder {
  enum class Kind {
    total,  ///< so many values a second in all, channels read in turn
    each,   ///< so many a second for every channel
    block   ///< all channels of a block together, so many blocks a second
  };
  Kind kind = Kind::total;
  double rate_hz = 0.0;
  std::optional<int> max_channels{};
  double jitter = 0.15;  ///< chosen: answers of a polled link do not come on the tick

  /// Seconds between two looks at one of `channels` channels; nothing when they are too many.
  [[nodiscard]] std::optional<double> interval_s(int channels) const;
  /// "8 values a second in all"
  [[nodiscard]] std::string describe() const;
};

/// Reads "8/s", "5/s each", "10/s block", each with an optional "max N" for the most channels.
/// Throws Error(usage) that says what would be right.
Recorder parse_recorder(std::string_view text);

/// How an earlier log was filled: how many channels it had and the true rate of each.
struct SeenRate {
  int channels = 0;
  double rate_hz = 0.0;        ///< median over the channels
  bool reads_in_turn = false;  ///< the log shows that cells were read one after another
};

/// What a log shows of its recorder; nothing when no channel has a rate. Rows that outnumber each
/// channel's fresh samples mean that its cells were read in turn.
std::optional<SeenRate> seen_rate(const Log& log);

/// The budget that earlier logs show. Several logs with different numbers of channels tell a shared
/// budget from one per channel; a single log is never credited with more than it shows, unless it
/// shows cells read in turn.
/// Requires: at least one entry, rates above 0.
Recorder measured_recorder(std::span<const SeenRate> logs);

}  // namespace stopledger
