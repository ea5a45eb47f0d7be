#include "model/tyre.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace stopledger::model {
namespace {

constexpr std::array<std::pair<Surface, std::string_view>, 8> names{{
    {Surface::dry_asphalt, "dry"},
    {Surface::wet_asphalt, "wet"},
    {Surface::dry_concrete, "dry-concrete"},
    {Surface::dry_cobble, "dry-cobble"},
    {Surface::wet_cobble, "wet-cobble"},
    {Surface::gravel, "gravel"},
    {Surface::snow, "snow"},
    {Surface::ice, "ice"},
}};

}  // namespace

std::string_view surface_name(Surface surface) {
  for (const auto& [value, name] : names)
    if (value == surface) return name;
  return "";
}

std::optional<Surface> parse_surface(std::string_view text) {
  for (const auto& [value, name] : names)
    if (name == text) return value;
  return std::nullopt;
}

std::string surface_names() {
  std::string text;
  for (const auto& [value, name] : names) text.append(text.empty() ? "" : ", ").append(name);
  return text;
}

double TyreCurve::mu(double slip) const { return c1 * (1.0 - std::exp(-c2 * slip)) - c3 * slip; }

double TyreCurve::slope(double slip) const { return c1 * c2 * std::exp(-c2 * slip) - c3; }

double TyreCurve::peak_slip() const {
  if (c3 <= 0.0) return 1.0;
  return std::clamp(std::log(c1 * c2 / c3) / c2, 0.0, 1.0);
}

TyreCurve tyre_curve(Surface surface) {
  switch (surface) {
    case Surface::dry_asphalt:
      return {1.2801, 23.99, 0.52};  // FR-20
    case Surface::wet_asphalt:
      return {0.857, 33.822, 0.347};  // FR-21
    case Surface::dry_concrete:
      return {1.1973, 25.168, 0.5373};  // FR-22
    case Surface::dry_cobble:
      return {1.3713, 6.4565, 0.6691};  // FR-23
    case Surface::wet_cobble:
      return {0.4004, 33.7080, 0.1204};  // FR-24
    case Surface::gravel:
      return {0.48, 22.0, -0.12};  // chosen: 0.60 locked (FR-15, FR-16), 0.48 at 15 % slip
    case Surface::snow:
      return {0.1946, 94.129, 0.0646};  // FR-25
    case Surface::ice:
      break;
  }
  return {0.05, 306.39, 0.0};  // FR-26
}

FrictionSpread friction_spread(Surface surface) {
  // The published coefficients fall by a third from peak to lock. Skid tests of many cars show
  // less on dry roads: 0.76 g locked (+/- 0.06), 0.82 g with anti-lock (FR-09 to FR-11).
  switch (surface) {
    case Surface::dry_asphalt:
    case Surface::dry_concrete:
    case Surface::dry_cobble:
      return {0.87, 1.13, 0.25, 1.0};  // FR-09, FR-10
    case Surface::wet_asphalt:
    case Surface::wet_cobble:
      return {0.75, 1.15, 0.3, 1.0};  // FR-13 to FR-15: 0.45 to 0.7
    case Surface::gravel:
      return {0.75, 1.15, 0.7, 1.3};  // FR-16: 0.40 to 0.70 locked
    case Surface::snow:
      return {0.8, 1.8, 0.5, 1.0};  // FR-05, FR-14: 0.15 to 0.35
    case Surface::ice:
      break;
  }
  return {1.0, 2.6, 1.0, 1.0};  // FR-05, FR-14: 0.05 to 0.15
}

TyreForce tyre_force(const TyreCurve& curve, double load_n, double vx_mps, double vy_mps,
                     double rolling_mps, double lateral_stiffness) {
  TyreForce out;
  const double base = std::max({std::abs(vx_mps), std::abs(rolling_mps), slip_floor_mps});
  const double sx = (vx_mps - rolling_mps) / base;
  out.slip = sx;
  const double rolling_weight = lateral_stiffness / (curve.c1 * curve.c2);
  const double weight = rolling_weight + (1.0 - rolling_weight) * sx * sx;
  const double sy = weight * vy_mps / base;
  const double s = std::hypot(sx, sy);
  if (s < 1e-9) {
    out.braking_slope_n = load_n * curve.c1 * curve.c2;
    return out;
  }
  const double decay = curve.c1 * std::exp(-curve.c2 * s);
  const double mu = curve.c1 - decay - curve.c3 * s;
  const double along = sx / s;
  out.braking_n = load_n * mu * along;
  out.lateral_n = -load_n * mu * sy / s;
  const double slope = curve.c2 * decay - curve.c3;
  out.braking_slope_n = load_n * (slope * along * along + mu / s * (1.0 - along * along));
  return out;
}

}  // namespace stopledger::model
