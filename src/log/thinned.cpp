#include "log/thinned.h"

#include <algorithm>
#include <cmath>

namespace stopledger {

void Thinned::keep(double value) {
  constexpr std::size_t most = 4096;
  skip_ = stride_ - 1;
  values_.push_back(value);
  if (values_.size() < most) return;
  for (std::size_t i = 0; 2 * i < values_.size(); ++i) values_[i] = values_[2 * i];
  values_.resize(values_.size() / 2);
  stride_ *= 2;
}

double Thinned::typical() const {
  if (values_.empty()) return 0.0;
  auto sorted = values_;
  const auto half = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
  std::nth_element(sorted.begin(), half, sorted.end());
  const double middle = *half;
  const auto close = std::count_if(sorted.begin(), sorted.end(), [&](double value) {
    return std::abs(value - middle) <= 0.15 * middle;
  });
  if (static_cast<std::size_t>(close) * 3 > sorted.size() * 2) return middle;
  std::sort(sorted.begin(), sorted.end());
  const double limit = 5.0 * middle;
  double sum = 0.0;
  std::size_t n = 0;
  for (const double value : sorted)
    if (value <= limit) sum += value, ++n;
  return n == 0 ? 0.0 : sum / static_cast<double>(n);
}

}  // namespace stopledger
