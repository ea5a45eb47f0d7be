#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>
#include <span>

namespace stopledger::model {

/// Random draws that are the same on every machine: the standard fixes the engine but not the
/// distributions, so those are written out here.
class Random {
 public:
  explicit Random(std::uint64_t seed) : engine_(seed) {}

  /// Uniform in [0, 1).
  double unit() { return static_cast<double>(engine_() >> 11U) * 0x1.0p-53; }
  double uniform(double low, double high) { return low + (high - low) * unit(); }
  /// Log-uniform: every factor is equally likely; for scales that span decades.
  double log_uniform(double low, double high) { return low * std::pow(high / low, unit()); }
  bool chance(double p) { return unit() < p; }
  /// Whole number in [low, high].
  int whole(int low, int high) { return low + static_cast<int>(unit() * (high - low + 1)); }
  /// Normal by the polar-free Box-Muller form.
  double normal(double mean, double sd) {
    const double radius = std::sqrt(-2.0 * std::log(1.0 - unit()));
    return mean + sd * radius * std::cos(2.0 * std::numbers::pi * unit());
  }
  template <typename T>
  const T& pick(std::span<const T> items) {
    return items[static_cast<std::size_t>(unit() * static_cast<double>(items.size()))];
  }
  /// Index drawn with the given weights.
  std::size_t weighted(std::span<const double> weights) {
    double total = 0.0;
    for (double w : weights) total += w;
    double x = unit() * total;
    for (std::size_t i = 0; i + 1 < weights.size(); ++i) {
      if (x < weights[i]) return i;
      x -= weights[i];
    }
    return weights.size() - 1;
  }
  std::uint64_t next_seed() { return engine_(); }

 private:
  std::mt19937_64 engine_;
};

}  // namespace stopledger::model
