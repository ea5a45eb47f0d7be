#include "base/corner.h"

#include <cctype>

namespace stopledger {

std::string_view corner_name(Corner corner) {
  switch (corner) {
    case Corner::fl:
      return "FL";
    case Corner::fr:
      return "FR";
    case Corner::rl:
      return "RL";
    case Corner::rr:
      break;
  }
  return "RR";
}

std::optional<Corner> parse_corner(std::string_view text) {
  std::string upper;
  for (const char c : text)
    upper.push_back(static_cast<char>(std::toupper(static_cast<unsigned char>(c))));
  for (const Corner corner : all_corners)
    if (upper == corner_name(corner)) return corner;
  return std::nullopt;
}

}  // namespace stopledger
