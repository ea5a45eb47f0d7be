#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "log/log.h"
#include "log/role.h"

namespace stopledger {

/// What a channel map says of one column. One column may feed several roles, bit by bit.
struct ChannelMapEntry {
  std::string column;              ///< header text as written in the log
  std::optional<Role> role;        ///< nothing: the column is not to be used
  std::string unit;                ///< "" keeps the unit that the log gives
  bool invert = false;             ///< states: on and off changed round; numbers: the sign changed
  std::optional<double> on_above;  ///< states: energised above this value as written
  std::string on;                  ///< states: the word for energised; every other word is off
  std::optional<double> factor;    ///< numbers: times this first, then the unit
  std::optional<int> bit;          ///< states: this bit of a whole number, 0 = lowest
  std::optional<double> pulses_per_turn;   ///< wheel speed counted in pulses: ring teeth
  std::optional<double> metres_per_pulse;  ///< the same by distance
  std::size_t line = 0;                    ///< in the map file, for messages
};

/// How one recorder's columns are to be read; settles what words alone cannot.
struct ChannelMap {
  std::string file;  ///< for messages
  std::string time_column;
  std::string time_unit;
  std::size_t time_line = 0;
  std::optional<double> row_interval_s;  ///< rows are that far apart; there is no clock
  std::vector<ChannelMapEntry> channels;
};

/// Reads a channel map (TOML). Errors: Error(input) with the line, what is wrong and what may stand
/// there: unknown keys, roles and units, a role given twice, a bit out of range.
ChannelMap parse_channel_map(std::string_view toml, const std::string& name);

/// The same from a file. Errors also: Error(file).
ChannelMap read_channel_map(const std::string& path);

/// A commented map of what was recognised in `log`, to edit: used columns as entries, the others
/// as comments. Reading it back gives the same channels.
std::string write_channel_map(const Log& log);

}  // namespace stopledger
