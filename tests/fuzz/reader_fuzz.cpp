// Any bytes are a log that is read or refused by Error; nothing else may happen. What is read keeps
// the promises of log.h.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "base/error.h"
#include "log/reader.h"

using namespace stopledger;

namespace {

void require(bool kept) {
  if (!kept) std::abort();
}

void check(const Log& log) {
  require(log.rows > 0);
  require(!log.segments.empty());
  require(std::isfinite(log.duration_s));
  for (const auto& channel : log.channels) {
    require(parse_role(role_name(channel.role)) == channel.role);
    require(channel.series.t_s.size() == channel.series.value.size());
    for (std::size_t i = 0; i < channel.series.size(); ++i) {
      require(std::isfinite(channel.series.value[i]));
      require(std::isfinite(channel.series.t_s[i]));
      require(i == 0 || channel.series.t_s[i] >= channel.series.t_s[i - 1]);
    }
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  ReadOptions options;
  options.hash = false;
  try {
    const Log fast = read_log_text(bytes, "fuzz", options);
    check(fast);
    options.fast = false;
    options.threads = 1;
    const Log plain = read_log_text(bytes, "fuzz", options);
    require(fast.rows == plain.rows && fast.channels.size() == plain.channels.size());
    for (std::size_t i = 0; i < fast.channels.size(); ++i) {
      require(fast.channels[i].series.t_s == plain.channels[i].series.t_s);
      require(fast.channels[i].series.value == plain.channels[i].series.value);
    }
  } catch (const Error&) {
  }
  return 0;
}
