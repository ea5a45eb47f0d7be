#include "base/car.h"

#include <array>
#include <string_view>
#include <utility>

namespace stopledger {

namespace {

template <typename Enum, std::size_t N>
using Names = std::array<std::pair<Enum, std::string_view>, N>;

constexpr Names<UnitKind, 6> unit_kinds{{{UnitKind::unknown, "unknown"},
                                         {UnitKind::two_valve, "two-valve"},
                                         {UnitKind::three_position, "three-position"},
                                         {UnitKind::motor_piston, "motor-piston"},
                                         {UnitKind::high_pressure_store, "high-pressure-store"},
                                         {UnitKind::booster_store, "booster-store"}}};
constexpr Names<CircuitSplit, 3> splits{{{CircuitSplit::unknown, "unknown"},
                                         {CircuitSplit::front_rear, "front-rear"},
                                         {CircuitSplit::diagonal, "diagonal"}}};
constexpr Names<Drive, 4> drives{{{Drive::unknown, "unknown"},
                                  {Drive::front, "front"},
                                  {Drive::rear, "rear"},
                                  {Drive::all, "all"}}};
constexpr Names<SteeringSide, 3> sides{{{SteeringSide::unknown, "unknown"},
                                        {SteeringSide::left, "left"},
                                        {SteeringSide::right, "right"}}};

template <typename Enum, std::size_t N>
std::string_view name_of(const Names<Enum, N>& names, Enum value) {
  for (const auto& [key, name] : names)
    if (key == value) return name;
  return names.front().second;
}

template <typename Enum, std::size_t N>
std::optional<Enum> value_of(const Names<Enum, N>& names, std::string_view text) {
  for (const auto& [key, name] : names)
    if (name == text) return key;
  return std::nullopt;
}

}  // namespace

std::string_view unit_kind_name(UnitKind kind) { return name_of(unit_kinds, kind); }
std::optional<UnitKind> parse_unit_kind(std::string_view text) {
  return value_of(unit_kinds, text);
}
std::string_view split_name(CircuitSplit split) { return name_of(splits, split); }
std::optional<CircuitSplit> parse_split(std::string_view text) { return value_of(splits, text); }
std::string_view drive_name(Drive drive) { return name_of(drives, drive); }
std::optional<Drive> parse_drive(std::string_view text) { return value_of(drives, text); }
std::string_view steering_side_name(SteeringSide side) { return name_of(sides, side); }
std::optional<SteeringSide> parse_steering_side(std::string_view text) {
  return value_of(sides, text);
}

std::optional<int> circuit_of(CircuitSplit split, Corner corner) {
  switch (split) {
    case CircuitSplit::front_rear:
      return is_front(corner) ? 1 : 2;
    case CircuitSplit::diagonal:
      return corner == Corner::fl || corner == Corner::rr ? 1 : 2;
    case CircuitSplit::unknown:
      break;
  }
  return std::nullopt;
}

}  // namespace stopledger
