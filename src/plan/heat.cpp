#include "plan/heat.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace stopledger {

double stop_rise_k(const HeatCase& heat, const DiscAxle& axle, double mass_kg, double from_mps,
                   double to_mps) {
  const double energy_j = 0.5 * mass_kg * (from_mps * from_mps - to_mps * to_mps);
  return axle.energy_share * heat.disc_share * energy_j /
         (axle.discs * axle.disc_kg * heat.specific_heat);
}

double cooled_c(double disc_c, double ambient_c, double seconds, double tau_s) {
  return ambient_c + (disc_c - ambient_c) * std::exp(-seconds / tau_s);
}

std::optional<double> cooling_s(double disc_c, double ambient_c, double target_c, double tau_s) {
  if (disc_c <= target_c) return 0.0;
  if (target_c <= ambient_c) return std::nullopt;
  return tau_s * std::log((disc_c - ambient_c) / (target_c - ambient_c));
}

std::optional<GradeBoiling> grade_boiling(std::string_view grade) {
  static constexpr std::array<std::pair<std::string_view, GradeBoiling>, 4> table{{
      {"DOT 3", {205, 140}},
      {"DOT 4", {230, 155}},
      {"DOT 5", {260, 180}},
      {"DOT 5.1", {260, 180}},
  }};
  for (const auto& [name, boiling] : table)
    if (name == grade) return boiling;
  return std::nullopt;
}

}  // namespace stopledger
