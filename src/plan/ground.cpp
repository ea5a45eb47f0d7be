#include "plan/ground.h"

#include <algorithm>
#include <array>

namespace stopledger {

std::span<const Ground> grounds() {
  // Ids as in tests/SOURCES.md. Low ends take the worst published value of the class, because a lot
  // that is too long costs nothing.
  // Answer rates: the rate of the bench's table at which three stops reach 0.95, or the next one;
  // on dry ground 50/s did not reach it, dry concrete and cobble are taken to be like dry asphalt.
  static constexpr std::array<Ground, 8> table{{
      // FR-01, FR-13, FR-15: 0.45 to 0.70 on ordinary asphalt; 0.30 is wet smooth or painted
      // ground, which is what makes long, lazy cycles and is often chosen for that (common
      // practice).
      {"wet", 0.30, 0.70, 25, true,
       "Best kind: it repeats, and its cycles are slow enough to be seen."},
      // FR-08 polished 0.55, FR-09 95 % above 0.64, FR-10 ABS 0.82 + 2 * 0.067.
      {"dry", 0.55, 0.95, 100, true,
       "Needs a very hard kick, may cycle the fronts only, and flat-spots old tyres."},
      {"dry-concrete", 0.60, 0.95, 100, true,  // FR-02, FR-22
       "Needs a very hard kick, may cycle the fronts only, and flat-spots old tyres."},
      // FR-03 0.35, FR-15 0.55 to 0.60, FR-16 0.40 to 0.70.
      {"gravel", 0.35, 0.70, 15, true,
       "Stops are longer than with locked wheels, stones fly, and the result does not repeat."},
      {"wet-cobble", 0.25, 0.45, 12, true,
       "Uneven: wheel speeds are noisy."},  // FR-24, +-15 % chosen
      {"dry-cobble", 0.50, 1.00, 100, true, "Uneven: wheel speeds are noisy."},  // FR-23
      // FR-05 0.20 to 0.25, FR-14 0.25 to 0.35, FR-15 sliding 0.15.
      {"snow", 0.15, 0.35, 12, true, "Fine for the car, hard to repeat next year."},
      {"ice", 0.05, 0.15, 12, false,  // FR-14, FR-15, FR-16
       "No session on ice: neither the brake nor the parking brake can end a run."},
  }};
  return table;
}

std::optional<Ground> find_ground(std::string_view name) {
  const auto all = grounds();
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Ground& g) { return g.name == name; });
  if (found == all.end()) return std::nullopt;
  return *found;
}

}  // namespace stopledger
