#include "log/satellite.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace stopledger {

void judge_satellite_delay(Log& log) {
  const auto note = [&](std::string text) { log.notes.push_back(std::move(text)); };
  Channel* satellite = nullptr;
  const Channel* own = nullptr;
  for (auto& channel : log.channels) {
    if (channel.role.quantity == QuantityKind::satellite_speed) satellite = &channel;
    const bool wheel = channel.role.quantity == QuantityKind::wheel_speed;
    if (channel.role.quantity == QuantityKind::vehicle_speed || (wheel && own == nullptr))
      own = &channel;
  }
  if (satellite == nullptr) return;
  const auto unknown = [&](const char* why) {
    note(
        fmt::format("\"{}\" comes from a satellite receiver and may be late by a second or two; "
                    "its delay is not known ({})",
                    satellite->column, why));
  };
  if (own == nullptr) return unknown("no other speed to compare with");
  const auto& s = satellite->series;
  const auto& c = own->series;
  if (s.size() < 20 || c.size() < 20) return unknown("too few samples");
  const auto own_at = [&](double t) {
    const auto after = std::lower_bound(c.t_s.begin(), c.t_s.end(), t);
    if (after == c.t_s.begin() || after == c.t_s.end()) return std::nan("");
    const auto i = static_cast<std::size_t>(after - c.t_s.begin());
    const double span = c.t_s[i] - c.t_s[i - 1];
    if (span > 2.0) return std::nan("");
    const double share = span > 0.0 ? (t - c.t_s[i - 1]) / span : 1.0;
    return c.value[i - 1] + share * (c.value[i] - c.value[i - 1]);
  };
  // At most this many samples are compared, spread over the log.
  const std::size_t stride = std::max<std::size_t>(1, s.size() / 4000);
  double best = 0.0, best_error = 1e300, error_at_zero = 0.0, spread = 0.0;
  for (int step = -10; step <= 60; ++step) {  // -0.5 s to 3 s
    const double delay = 0.05 * step;
    double error = 0.0, change = 0.0;
    std::size_t n = 0;
    for (std::size_t i = 0; i < s.size(); i += stride) {
      const double a = own_at(s.t_s[i] - delay), b = own_at(s.t_s[i] - delay - 1.0);
      // Only where the speed changes can a delay be seen.
      if (std::isnan(a) || std::isnan(b) || std::abs(a - b) < 0.5) continue;
      error += std::abs(s.value[i] - a);
      change += std::abs(a - b);
      ++n;
    }
    if (n < 10) return unknown("the speed hardly changes");
    error /= static_cast<double>(n);
    if (step == 0) {
      error_at_zero = error;
      spread = change / static_cast<double>(n);
    }
    if (error < best_error) {
      best_error = error;
      best = delay;
    }
  }
  if (best_error > 0.5 * spread && best_error > 1.0)
    return unknown("it does not follow the other speed");
  satellite->read_skew_s = -best;
  satellite->time_uncertainty_s = std::max(satellite->time_uncertainty_s, 0.1);
  if (best >= 0.15)
    note(
        fmt::format("\"{}\" is late by {:.2f} s against \"{}\" (mean difference {:.2f} m/s, {:.2f} "
                    "m/s as it stands)",
                    satellite->column, best, own->column, best_error, error_at_zero));
}

}  // namespace stopledger
