#include "signal/smooth.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <functional>
#include <numbers>

namespace stopledger {

std::vector<double> whittaker_smooth(std::span<const double> value, std::span<const double> weight,
                                     std::span<const double> lambda) {
  const std::size_t n = value.size();
  if (n < 3) return {value.begin(), value.end()};
  // (W + D' L D) z = W y: symmetric with two bands beside the diagonal, solved by LDL'.
  const auto penalty = [&](std::size_t centre) {
    return centre >= 1 && centre + 1 < n ? lambda[centre] : 0.0;
  };
  std::vector<double> d(n), c(n), e(n), z(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double before = i >= 1 ? penalty(i - 1) : 0.0, here = penalty(i), after = penalty(i + 1);
    // A whisper of weight keeps the matrix regular at the ends of a gap.
    double pivot = weight[i] + 1e-12 + before + 4.0 * here + after;
    double next1 = -2.0 * (here + after);
    const double next2 = after;
    double right = weight[i] * value[i];
    if (i >= 1) {
      pivot -= c[i - 1] * c[i - 1] * d[i - 1];
      next1 -= c[i - 1] * e[i - 1] * d[i - 1];
      right -= c[i - 1] * z[i - 1];
    }
    if (i >= 2) {
      pivot -= e[i - 2] * e[i - 2] * d[i - 2];
      right -= e[i - 2] * z[i - 2];
    }
    d[i] = pivot;
    c[i] = next1 / pivot;
    e[i] = next2 / pivot;
    z[i] = right;
  }
  for (std::size_t i = 0; i < n; ++i) z[i] /= d[i];
  for (std::size_t i = n - 1; i-- > 0;) {
    z[i] -= c[i] * z[i + 1];
    if (i + 2 < n) z[i] -= e[i] * z[i + 2];
  }
  return z;
}

std::vector<double> whittaker_smooth(std::span<const double> value, std::span<const double> weight,
                                     double lambda) {
  return whittaker_smooth(value, weight, std::vector<double>(value.size(), lambda));
}

double whittaker_lambda(double period) {
  const double response = 2.0 * std::sin(std::numbers::pi / std::max(period, 2.0));
  return 1.0 / std::pow(response, 4.0);
}

namespace {

template <typename Before>
std::vector<double> running_extreme(std::span<const double> value, int half, Before before) {
  const auto n = static_cast<std::ptrdiff_t>(value.size());
  std::vector<double> result(value.size());
  std::deque<std::ptrdiff_t> window;  // indices whose values are in order, best first
  const auto at = [&](std::ptrdiff_t i) { return value[static_cast<std::size_t>(i)]; };
  for (std::ptrdiff_t i = 0, entering = 0; i < n; ++i) {
    for (; entering < n && entering <= i + half; ++entering) {
      while (!window.empty() && !before(at(window.back()), at(entering))) window.pop_back();
      window.push_back(entering);
    }
    while (window.front() < i - half) window.pop_front();
    result[static_cast<std::size_t>(i)] = at(window.front());
  }
  return result;
}

}  // namespace

std::vector<double> running_max(std::span<const double> value, int half) {
  return running_extreme(value, half, std::greater<double>());
}

std::vector<double> running_min(std::span<const double> value, int half) {
  return running_extreme(value, half, std::less<double>());
}

}  // namespace stopledger
