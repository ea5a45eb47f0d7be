#include "signal/series.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stopledger {

std::size_t first_at_or_after(std::span<const double> t_s, double t) {
  return static_cast<std::size_t>(std::lower_bound(t_s.begin(), t_s.end(), t) - t_s.begin());
}

std::optional<double> linear_at(std::span<const double> t_s, std::span<const double> value,
                                double t, double max_gap_s) {
  const std::size_t after = first_at_or_after(t_s, t);
  if (after == t_s.size()) return std::nullopt;
  if (t_s[after] == t) return value[after];
  if (after == 0) return std::nullopt;
  const double span = t_s[after] - t_s[after - 1];
  if (span > max_gap_s) return std::nullopt;
  const double share = (t - t_s[after - 1]) / span;
  return value[after - 1] + share * (value[after] - value[after - 1]);
}

std::optional<double> held_at(std::span<const double> t_s, std::span<const double> value, double t,
                              double max_age_s) {
  const auto after =
      static_cast<std::size_t>(std::upper_bound(t_s.begin(), t_s.end(), t) - t_s.begin());
  if (after == 0 || t - t_s[after - 1] > max_age_s) return std::nullopt;
  return value[after - 1];
}

double local_rate_hz(std::span<const double> t_s, double start, double end) {
  const std::size_t first = first_at_or_after(t_s, start);
  const auto last =
      static_cast<std::size_t>(std::upper_bound(t_s.begin(), t_s.end(), end) - t_s.begin());
  if (last < first + 2) return 0.0;
  const double span = t_s[last - 1] - t_s[first];
  return span > 0.0 ? static_cast<double>(last - first - 1) / span : 0.0;
}

double quantile(std::vector<double> values, double q) {
  if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
  const double position = q * static_cast<double>(values.size() - 1);
  const auto low = static_cast<std::size_t>(std::floor(position));
  const auto at = [&](std::size_t i) {
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(i), values.end());
    return values[i];
  };
  const double below = at(low);
  const double share = position - static_cast<double>(low);
  if (share == 0.0) return below;
  return below + share * (at(low + 1) - below);
}

double median(std::vector<double> values) { return quantile(std::move(values), 0.5); }

}  // namespace stopledger
