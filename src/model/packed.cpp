#include "model/packed.h"

#include <fmt/format.h>

#include <cstdint>

namespace stopledger::model {

bool is_packed(const Recorder& recorder, const Role& role) {
  using enum QuantityKind;
  return recorder.pack_valves &&
         (role.quantity == inlet || role.quantity == outlet || role.quantity == isolation ||
          role.quantity == prime || role.quantity == pump);
}

std::size_t first_packed(const Recorder& recorder) {
  std::size_t i = 0;
  while (i < recorder.channels.size() && !is_packed(recorder, recorder.channels[i])) ++i;
  return i;
}

std::string packed_cell(const Recorder& recorder, const std::vector<std::string>& cells) {
  std::uint32_t bits = 0;
  unsigned bit = 0;
  for (std::size_t i = 0; i < recorder.channels.size(); ++i)
    if (is_packed(recorder, recorder.channels[i])) bits |= (cells[i] == "1" ? 1U : 0U) << bit++;
  return recorder.state_text == StateText::digits ? fmt::format("{}", bits)
                                                  : fmt::format("0x{:04X}", bits);
}

ChannelMap packed_map(const Recorder& recorder) {
  ChannelMap map;
  map.file = "packed.toml";
  int bit = 0;
  for (const Role& role : recorder.channels) {
    if (!is_packed(recorder, role)) continue;
    ChannelMapEntry entry;
    entry.column = packed_header;
    entry.role = role;
    entry.bit = bit++;
    map.channels.push_back(entry);
  }
  return map;
}

}  // namespace stopledger::model
