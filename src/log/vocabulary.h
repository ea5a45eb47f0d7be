#pragma once

#include <algorithm>
#include <array>
#include <bitset>
#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

// Words of column headers and what they mean, for log/words alone.
namespace stopledger::wording {

/// What a word can say. A header's words are gathered into a set of these.
enum Concept : std::size_t {
  k_wheel,
  k_speed,
  k_vehicle,
  k_reference,
  k_satellite,
  k_engine,
  k_valve,
  k_inlet,
  k_outlet,
  k_build,
  k_hold,
  k_release,
  k_isolation,
  k_prime,
  k_pump,
  k_motor,
  k_relay,
  k_pressure,
  k_master,
  k_brake,
  k_pedal,
  k_switch,
  k_position,
  k_accel,
  k_gforce,
  k_lateral,
  k_longitudinal,
  k_vertical,
  k_yaw,
  k_steering,
  k_angle,
  k_rate,
  k_throttle,
  k_accelerator,
  k_ignition,
  k_timing,
  k_torque,
  k_battery,
  k_voltage,
  k_abs,
  k_stability,
  k_traction,
  k_active,
  k_lamp,
  k_warning,
  k_odometer,
  k_time,
  k_date,
  k_current,
  k_command,
  k_feedback,
  k_circuit,
  k_one,
  k_two,
  k_average,
  k_wanted,
  k_fault,
  k_foreign,
  k_latlon,
  k_quality,
  k_stop_word,
  k_count_,
  k_state,
  k_driver,
  k_passenger,
  k_front,
  k_rear,
  k_left,
  k_right,
  k_rpm,
  k_return,
  concept_count
};
using Concepts = std::bitset<concept_count>;

inline bool says_all(const Concepts& says, const std::vector<Concept>& wanted) {
  return std::all_of(wanted.begin(), wanted.end(), [&](Concept c) { return says[c]; });
}
inline bool says_any(const Concepts& says, const std::vector<Concept>& wanted) {
  return std::any_of(wanted.begin(), wanted.end(), [&](Concept c) { return says[c]; });
}

/// One meaning and the words that have it.
struct VocabularyRow {
  Concept says;
  std::string_view words;  ///< separated by blanks; folded
};
using DoubleWord = std::pair<std::string_view, std::array<Concept, 2>>;

/// The table of words by meaning, and of words that say two things at once.
std::span<const VocabularyRow> vocabulary_rows();
std::span<const DoubleWord> double_words();

/// Every known word with all that it says.
const std::unordered_map<std::string, Concepts>& vocabulary();

/// Cuts an unknown run of letters into known words ("wheelspeedfl"); empty when it cannot be
/// covered completely by words of two letters or more.
std::vector<std::string> cut_into_words(const std::string& run);

}  // namespace stopledger::wording
