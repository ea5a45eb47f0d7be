#pragma once

namespace stopledger {

/// Version of the program; kept with each saved check so that it can be judged again later.
inline constexpr const char* version = "0.1.0";

}  // namespace stopledger
