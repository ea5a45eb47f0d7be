#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "base/car.h"
#include "log/log.h"

namespace stopledger {

struct ChannelMap;  // log/channel_map.h

struct ReadOptions {
  CarFacts car;                     ///< rolling radius, teeth, steering side, channels
  const ChannelMap* map = nullptr;  ///< settles roles and units; nullptr: words alone
  /// Map kept for a recorder's wording (Log::wording), asked for when `map` is not given; may be
  /// empty or give nullptr. What it points to must live until the read ends.
  std::function<const ChannelMap*(const std::string& wording)> remembered_map;
  std::function<void(double)> progress;  ///< share read so far, 0 to 1; may be empty
  /// Two columns for one wheel or valve: keep the first and say so, instead of an error.
  bool first_claim_wins = false;
  bool hash = true;      ///< fill Log::sha256
  unsigned threads = 2;  ///< 1 or 2; the result is the same
  bool fast = true;      ///< false: the plain path alone, for comparison; the result is the same
};

/// Reads one delimited-text recording ("-" is standard input; gzip and Zstandard are unpacked).
///
/// Limits: files of any length (memory follows the events); lines up to 8 MB; quoted cells up to
/// 64 KiB; numbers of up to 56 characters; rows up to 2^32. Header, units, delimiter, time and
/// roles are decided from the first megabyte, at most 1500 lines of it. A log may hold several
/// clocks beginning again, but one table: a second header of other columns ends it, and is said. A
/// coarse value that moves by less than two of its steps per renewal, renewed on an odd ratio of
/// rows, cannot be told from one renewed in every row and is taken for that.
///
/// Errors: Error(file) when it cannot be opened; Error(input) naming file and line when it is not
///         a recording (empty, binary, no time, no rows, two columns for one role, ...).
Log read_log(const std::string& path, const ReadOptions& options);

/// The same for text in memory; `name` stands for the file in messages.
Log read_log_text(std::string_view text, const std::string& name, const ReadOptions& options);

}  // namespace stopledger
