#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace stopledger::model {

enum class Surface {
  dry_asphalt,
  wet_asphalt,
  dry_concrete,
  dry_cobble,
  wet_cobble,
  gravel,
  snow,
  ice
};

/// "dry", "wet", "dry-concrete", "dry-cobble", "wet-cobble", "gravel", "snow", "ice".
std::string_view surface_name(Surface surface);
std::optional<Surface> parse_surface(std::string_view text);
/// All of those words, for messages: "dry, wet, ...".
std::string surface_names();

/// Burckhardt friction curve mu(s) = c1 (1 - exp(-c2 s)) - c3 s over the slip magnitude s >= 0.
struct TyreCurve {
  double c1 = 0.0, c2 = 1.0, c3 = 0.0;

  [[nodiscard]] double mu(double slip) const;
  /// d mu / d s.
  [[nodiscard]] double slope(double slip) const;
  /// Slip of the highest friction in [0, 1]; 1 for a curve that only rises.
  [[nodiscard]] double peak_slip() const;
  /// The same curve with all friction times `factor` and its fall from peak to lock times `fall`;
  /// friction at lock depends on `factor` alone.
  [[nodiscard]] TyreCurve shaped(double factor, double fall) const {
    return {(c1 - c3 + fall * c3) * factor, c2, fall * c3 * factor};
  }
};

/// Published coefficients of a surface (Burckhardt, FR-20 to FR-26 in tests/SOURCES.md). Loose
/// gravel is not in that set: its curve is chosen so that friction goes on rising to lock, as the
/// wedge of stones in front of a locked wheel makes it (sign and size of CT-60).
TyreCurve tyre_curve(Surface surface);

/// Spread around the published curves: tyres, texture, water or ice film.
struct FrictionSpread {
  double low = 1.0, high = 1.0;            ///< factor on all friction
  double fall_low = 1.0, fall_high = 1.0;  ///< factor on the fall from peak to lock
};
FrictionSpread friction_spread(Surface surface);

/// Below this speed slip is a ratio of two noise-sized numbers; the floor under the denominator
/// only keeps the force smooth through standstill.
inline constexpr double slip_floor_mps = 0.3;

/// Force of one tyre and what the implicit wheel step needs.
struct TyreForce {
  double braking_n = 0.0;        ///< against the rolling direction of the wheel
  double lateral_n = 0.0;        ///< positive to the left
  double slip = 0.0;             ///< longitudinal, positive in braking
  double braking_slope_n = 0.0;  ///< d braking / d slip
};

/// Combined slip: one curve over the resultant slip, force along the slip vector.
///
/// `vx_mps`, `vy_mps`: velocity of the wheel centre along and across the wheel; `rolling_mps`:
/// circumferential speed. `lateral_stiffness`: cornering stiffness over load (1/rad), which sets
/// how much a side slip counts; a locked wheel slides straight, so the weight goes to 1 there.
/// Source: Kiencke and Nielsen, Automotive Control Systems, tyre chapter (from memory).
TyreForce tyre_force(const TyreCurve& curve, double load_n, double vx_mps, double vy_mps,
                     double rolling_mps, double lateral_stiffness);

}  // namespace stopledger::model
