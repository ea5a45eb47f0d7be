#pragma once

#include <chrono>
#include <compare>

namespace stopledger {

/// A number that carries its unit in its type: explicit in, `.value()` out, no mixing.
template <typename Tag>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double value) : value_(value) {}
  [[nodiscard]] constexpr double value() const { return value_; }
  constexpr auto operator<=>(const Quantity&) const = default;
  constexpr Quantity operator+(Quantity other) const { return Quantity(value_ + other.value_); }
  constexpr Quantity operator-(Quantity other) const { return Quantity(value_ - other.value_); }
  constexpr Quantity operator*(double factor) const { return Quantity(value_ * factor); }
  constexpr double operator/(Quantity other) const { return value_ / other.value_; }

 private:
  double value_ = 0.0;
};

using MetresPerSecond = Quantity<struct MetresPerSecondTag>;
using MetresPerSecond2 = Quantity<struct MetresPerSecond2Tag>;
using Metres = Quantity<struct MetresTag>;
using Kilopascals = Quantity<struct KilopascalsTag>;
using Kilograms = Quantity<struct KilogramsTag>;
using Celsius = Quantity<struct CelsiusTag>;
using Hertz = Quantity<struct HertzTag>;
/// Log time and durations.
using Seconds = std::chrono::duration<double>;

/// Standard gravity as the reference tables use it (m/s2).
inline constexpr double gravity_mps2 = 9.81;

constexpr MetresPerSecond from_kmh(double kmh) { return MetresPerSecond(kmh / 3.6); }
constexpr double to_kmh(MetresPerSecond v) { return v.value() * 3.6; }

}  // namespace stopledger
