// Any bytes are a channel map that is read or refused by Error; one that is read can be used on a
// log, and what the log then shows can be written and read back.
#include <cstdint>
#include <string_view>

#include "base/error.h"
#include "log/channel_map.h"
#include "log/reader.h"

using namespace stopledger;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const auto map = parse_channel_map({reinterpret_cast<const char*>(data), size}, "fuzz");
    ReadOptions options;
    options.map = &map;
    const auto log =
        read_log_text("Time,A,B,Flags\n0.0,36,0,0\n0.1,18,0,5\n0.2,18,1,4\n", "log", options);
    if (!log.channels.empty()) parse_channel_map(write_channel_map(log), "written");
  } catch (const Error&) {
  }
  return 0;
}
