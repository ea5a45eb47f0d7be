#pragma once

#include <algorithm>

namespace stopledger::test {

/// Axle loads and the arithmetic of UN R13-H Annex 6 Appendix 2 (AB-15 in tests/SOURCES.md), by
/// which the forward model is approved; checked itself against a worked example (AB-32, AB-33).
struct AnnexLoads {
  double weight_n = 0.0, front_n = 0.0;  ///< P g and F1; F2 is the rest
  double height_over_base = 0.0;         ///< h / E

  [[nodiscard]] double rear_n() const { return weight_n - front_n; }
  [[nodiscard]] double moved_n(double z) const { return height_over_base * z * weight_n; }
  [[nodiscard]] double front_dynamic_n(double z) const { return front_n + moved_n(z); }
  [[nodiscard]] double rear_dynamic_n(double z) const { return rear_n() - moved_n(z); }
  /// k of an axle from the rate with that axle braked alone; `rolling` is of the other axle.
  [[nodiscard]] double front_adhesion(double z, double rolling) const {
    return (z * weight_n - rolling * rear_n()) / front_dynamic_n(z);
  }
  [[nodiscard]] double rear_adhesion(double z, double rolling) const {
    return (z * weight_n - rolling * front_n) / rear_dynamic_n(z);
  }
  /// k_M at the rate reached with the control.
  [[nodiscard]] double mean_adhesion(double z, double kf, double kr) const {
    return (kf * front_dynamic_n(z) + kr * rear_dynamic_n(z)) / weight_n;
  }
};

/// Least braking rate of a category 1 control on split ground (AB-20).
inline double split_rate_least(double k_high, double k_low) {
  return std::max(0.75 * (4.0 * k_low + k_high) / 5.0, k_low);
}

}  // namespace stopledger::test
