#include "signal/binomial.h"

#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>

namespace stopledger {

Bounds clopper_pearson(std::size_t k, std::size_t n, double confidence) {
  using boost::math::binomial_distribution;
  const double tail = (1.0 - confidence) / 2.0;
  const auto trials = static_cast<double>(n), hits = static_cast<double>(k);
  Bounds bounds;
  if (k > 0) bounds.low = binomial_distribution<>::find_lower_bound_on_p(trials, hits, tail);
  if (k < n) bounds.high = binomial_distribution<>::find_upper_bound_on_p(trials, hits, tail);
  return bounds;
}

Bounds wilson(std::size_t k, std::size_t n, double confidence) {
  const double z =
      boost::math::quantile(boost::math::normal_distribution<>(), 0.5 + confidence / 2.0);
  const auto trials = static_cast<double>(n);
  const double p = static_cast<double>(k) / trials;
  const double centre = p + z * z / (2.0 * trials);
  const double half = z * std::sqrt(p * (1.0 - p) / trials + z * z / (4.0 * trials * trials));
  const double scale = 1.0 + z * z / trials;
  return {(centre - half) / scale, (centre + half) / scale};
}

}  // namespace stopledger
