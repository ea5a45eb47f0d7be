#pragma once

#include <cstddef>

namespace stopledger {

struct Bounds {
  double low = 0.0;
  double high = 1.0;
};

/// Two-sided interval for a share after k of n, by Clopper and Pearson (exact, conservative).
/// Requires: k <= n, n >= 1, 0 < confidence < 1. Source: Newcombe 1998 (SC-01 to SC-16).
Bounds clopper_pearson(std::size_t k, std::size_t n, double confidence = 0.95);

/// The same by Wilson's score, without continuity correction. Source: Newcombe 1998.
Bounds wilson(std::size_t k, std::size_t n, double confidence = 0.95);

}  // namespace stopledger
