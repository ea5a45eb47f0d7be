#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "log/channel_map.h"
#include "model/recorder.h"

namespace stopledger::model {

/// Header of the column that holds valves and pump as the bits of one number.
inline const std::string packed_header = "Valve status";

/// Whether that role is a bit of the packed column: valves of two states and the pump.
bool is_packed(const Recorder& recorder, const Role& role);

/// Index of the first packed channel, where the column stands; the number of channels when none is.
std::size_t first_packed(const Recorder& recorder);

/// The packed column's cell from the cells of all channels: decimal where states are digits, else
/// hexadecimal. The first packed channel is the lowest bit.
std::string packed_cell(const Recorder& recorder, const std::vector<std::string>& cells);

/// What a person has to tell the reader of this recorder: one entry for each bit. Empty when
/// nothing is packed.
ChannelMap packed_map(const Recorder& recorder);

}  // namespace stopledger::model
