#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace stopledger {

/// One wheel position, named from the driver's seat: `Corner::fl` in code, "FL" in print.
enum class Corner { fl, fr, rl, rr };

inline constexpr std::array<Corner, 4> all_corners{Corner::fl, Corner::fr, Corner::rl, Corner::rr};

/// "FL", "FR", "RL" or "RR".
std::string_view corner_name(Corner corner);

/// The corner of that name in any letter case; nothing for other text.
std::optional<Corner> parse_corner(std::string_view text);

constexpr bool is_front(Corner corner) { return corner == Corner::fl || corner == Corner::fr; }
constexpr bool is_left(Corner corner) { return corner == Corner::fl || corner == Corner::rl; }

/// The other wheel of the same axle.
constexpr Corner axle_partner(Corner corner) {
  switch (corner) {
    case Corner::fl:
      return Corner::fr;
    case Corner::fr:
      return Corner::fl;
    case Corner::rl:
      return Corner::rr;
    case Corner::rr:
      break;
  }
  return Corner::rl;
}

/// The wheel at the other end of the diagonal.
constexpr Corner diagonal_partner(Corner corner) {
  switch (corner) {
    case Corner::fl:
      return Corner::rr;
    case Corner::fr:
      return Corner::rl;
    case Corner::rl:
      return Corner::fr;
    case Corner::rr:
      break;
  }
  return Corner::fl;
}

/// One value for each corner, indexed by `Corner`.
template <typename T>
struct PerCorner {
  std::array<T, 4> values{};

  constexpr T& operator[](Corner corner) { return values[static_cast<std::size_t>(corner)]; }
  constexpr const T& operator[](Corner corner) const {
    return values[static_cast<std::size_t>(corner)];
  }
  bool operator==(const PerCorner&) const = default;
};

}  // namespace stopledger
