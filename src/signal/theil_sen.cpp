#include "signal/theil_sen.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

namespace stopledger {
namespace {

constexpr double z_two_sided_95 = 1.959963984540054;  // standard normal quantile at 0.975

double median_of_sorted(const std::vector<double>& sorted) {
  const std::size_t half = sorted.size() / 2;
  return sorted.size() % 2 == 1 ? sorted[half] : 0.5 * (sorted[half - 1] + sorted[half]);
}

/// Sum of k (k-1) (2k+5) over the groups of equal values.
double tie_term(std::span<const double> values) {
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  double sum = 0.0;
  for (std::size_t i = 0, j = 0; i < sorted.size(); i = j) {
    while (j < sorted.size() && sorted[j] == sorted[i]) ++j;
    const auto k = static_cast<double>(j - i);
    sum += k * (k - 1.0) * (2.0 * k + 5.0);
  }
  return sum;
}

}  // namespace

std::optional<RobustSlope> theil_sen(std::span<const double> x, std::span<const double> y) {
  assert(x.size() == y.size());
  std::vector<double> slopes;
  slopes.reserve(x.size() * (x.size() - (x.empty() ? 0 : 1)) / 2);
  for (std::size_t i = 0; i < x.size(); ++i)
    for (std::size_t j = i + 1; j < x.size(); ++j)
      if (x[j] != x[i]) slopes.push_back((y[j] - y[i]) / (x[j] - x[i]));
  if (slopes.empty()) return std::nullopt;
  std::sort(slopes.begin(), slopes.end());

  const auto n = static_cast<double>(x.size());
  const auto pairs = static_cast<double>(slopes.size());
  const double variance =
      std::max(0.0, (n * (n - 1.0) * (2.0 * n + 5.0) - tie_term(x) - tie_term(y)) / 18.0);
  const double reach = z_two_sided_95 * std::sqrt(variance);
  // Ranks M1 and M2 + 1 of Sen's paper, counted from 0 and kept within the list.
  const auto rank = [&](double at) {
    return slopes[static_cast<std::size_t>(std::clamp(at, 0.0, pairs - 1.0))];
  };
  return RobustSlope{.slope = median_of_sorted(slopes),
                     .low = rank(std::nearbyint((pairs - reach) / 2.0) - 1.0),
                     .high = rank(std::nearbyint((pairs + reach) / 2.0)),
                     .pairs = slopes.size()};
}

}  // namespace stopledger
