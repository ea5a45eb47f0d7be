#pragma once

#include <optional>
#include <string>

#include "base/corner.h"

namespace stopledger {

/// How the hydraulic unit is built; decides how its log is read and what is safe.
enum class UnitKind {
  unknown,
  two_valve,            ///< two valves per channel, return pump
  three_position,       ///< one three-position valve per channel
  motor_piston,         ///< motor-driven pistons, no pump
  high_pressure_store,  ///< integral unit with a high-pressure accumulator
  booster_store         ///< separate booster with an accumulator beside a recirculating unit
};

/// Which wheels share a hydraulic circuit.
enum class CircuitSplit { unknown, front_rear, diagonal };

enum class Drive { unknown, front, rear, all };

/// Which side the driver sits on; decides what "driver side" in a column name means.
enum class SteeringSide { unknown, left, right };

/// The facts about a car that decide how its log is read and judged. Unknown is a value:
/// an empty optional or an `unknown` enumerator, never a silent default.
struct CarFacts {
  std::string name;
  UnitKind unit_kind = UnitKind::unknown;
  CircuitSplit split = CircuitSplit::unknown;
  Drive drive = Drive::unknown;
  SteeringSide steering_side = SteeringSide::unknown;
  std::optional<int> channels;  ///< hydraulic channels of the unit: 1 to 4
  std::optional<int> sensors;   ///< wheel-speed sensors: 1 to 4
  std::optional<bool> rear_select_low;
  std::optional<bool> has_isolation_valves;  ///< isolation and prime valves (traction/stability)
  std::optional<double> rolling_radius_m;
  std::optional<double> sensor_teeth;  ///< ring teeth per wheel turn
  std::optional<double> wheelbase_m;
  std::optional<double> track_m;
  std::optional<double> mass_kg;
  std::optional<double> steering_ratio;
  std::optional<double> understeer_gradient_rad;  ///< K in rad per g (standards VD-03)
  std::optional<double> front_disc_kg;            ///< one front disc
  std::optional<double> rear_disc_kg;
};

/// "two-valve", "three-position", "motor-piston", "high-pressure-store", "booster-store",
/// "unknown"; the spelling used in the ledger, procedures and on the command line.
std::string_view unit_kind_name(UnitKind kind);
std::optional<UnitKind> parse_unit_kind(std::string_view text);

/// "front-rear", "diagonal", "unknown".
std::string_view split_name(CircuitSplit split);
std::optional<CircuitSplit> parse_split(std::string_view text);

/// "front", "rear", "all", "unknown".
std::string_view drive_name(Drive drive);
std::optional<Drive> parse_drive(std::string_view text);

/// "left", "right", "unknown".
std::string_view steering_side_name(SteeringSide side);
std::optional<SteeringSide> parse_steering_side(std::string_view text);

/// Hydraulic circuit (1 or 2) of a corner. Front/rear split: 1 = front axle; diagonal: 1 = FL+RR.
/// Nothing when the split is unknown.
std::optional<int> circuit_of(CircuitSplit split, Corner corner);

}  // namespace stopledger
