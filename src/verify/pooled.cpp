#include "verify/pooled.h"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <utility>

#include "verify/criteria.h"
#include "verify/wheel_looks.h"

namespace stopledger {

namespace {

/// After the start of a release: on grip the wheel is back soon, on ice late (answer_grip_s).
constexpr std::array<std::pair<double, double>, std::tuple_size_v<decltype(SlipAround::after)>>
    answer_windows{{{0.03, 0.09}, {0.06, 0.16}, {0.14, 0.28}, {0.26, 0.45}}};

}  // namespace

std::vector<SlipAround> slips_around(const PreparedLog& run, Corner corner,
                                     const Commands& commands, const Stretch& stretch) {
  std::vector<SlipAround> result;
  const WheelView& wheel = run.wheels[corner];
  if (!wheel.known || !run.has_slip) return result;
  const auto mean = [&](double from, double to) -> std::optional<double> {
    double sum = 0.0;
    const auto looks = looks_between(run, wheel, from, to);
    for (const SlipLook& look : looks) sum += look.slip;
    if (looks.empty()) return std::nullopt;
    return sum / static_cast<double>(looks.size());
  };
  const double blur = std::max(commands.outlet_step_s, wheel.time_error_s);
  for (std::size_t k = 0; k < commands.releases.size(); ++k) {
    const double start = commands.releases[k].start_s;
    if (start < stretch.judged_from_s || start > stretch.judged_to_s) continue;
    const double next =
        k + 1 < commands.releases.size() ? commands.releases[k + 1].start_s - 0.02 : 1e300;
    const auto before = mean(start - 0.03 - blur, start + 0.02);
    if (!before) continue;
    SlipAround one;
    one.before = *before;
    for (std::size_t w = 0; w < one.after.size(); ++w) {
      const double to = std::min({start + answer_windows[w].second, next, stretch.judged_to_s});
      if (to > start + answer_windows[w].first)
        one.after[w] = mean(start + answer_windows[w].first, to);
    }
    result.push_back(one);
  }
  return result;
}

std::optional<PooledAnswer> pool_answers(std::span<const SlipAround> slips) {
  std::optional<PooledAnswer> best;
  for (std::size_t w = 0; w < answer_windows.size(); ++w) {
    double n = 0.0, before = 0.0, sum = 0.0, squares = 0.0;
    for (const SlipAround& one : slips) {
      if (!one.after[w]) continue;
      const double drop = one.before - *one.after[w];
      n += 1.0, before += one.before, sum += drop, squares += drop * drop;
    }
    if (n < criteria.pool_least) continue;
    PooledAnswer pooled;
    pooled.releases = static_cast<int>(n);
    pooled.before = before / n;
    pooled.drop = sum / n;
    const double variance = std::max((squares - sum * sum / n) / (n - 1.0), 1e-9);
    const double t = pooled.drop / std::sqrt(variance / n);
    const boost::math::students_t student(n - 1.0);
    pooled.p = std::min(1.0, static_cast<double>(answer_windows.size()) *
                                 boost::math::cdf(boost::math::complement(student, t)));
    if (!best || pooled.p < best->p) best = pooled;
  }
  return best;
}

}  // namespace stopledger
