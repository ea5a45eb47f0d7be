#pragma once

#include <fmt/format.h>

#include <string>

namespace stopledger {

/// "1 release", "3 releases".
inline std::string times(int n, const char* thing) {
  return fmt::format("{} {}{}", n, thing, n == 1 ? "" : "s");
}

}  // namespace stopledger
