#pragma once

#include <optional>
#include <span>
#include <string_view>

namespace stopledger {

/// What a surface offers to a braked tyre, as a range: tables differ by up to a factor of two.
///
/// The low end sizes the lot (longest stop), the high end is the hardest that a stop can be.
struct Ground {
  std::string_view name;   ///< "dry", "wet", ...; the words of model::surface_name
  double mu_low, mu_high;  ///< friction, braking force over weight
  /// Looks a second at a wheel speed from which on the check sees 95 % of healthy wheels answer
  /// within answer_stops stops: measured by tests/bench/answer_rates.cpp. More grip, quicker
  /// wheels.
  double answer_rate_hz;
  bool fit_for_session;     ///< false: no exercise on it at all
  std::string_view remark;  ///< one sentence for the person who chooses, may be empty
};

inline constexpr int answer_stops = 3;

/// All surfaces, best suited first.
std::span<const Ground> grounds();

/// The surface of that name; nothing for other text.
std::optional<Ground> find_ground(std::string_view name);

}  // namespace stopledger
