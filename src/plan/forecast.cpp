#include "plan/forecast.h"

#include <algorithm>
#include <cmath>

#include "plan/ground.h"

namespace stopledger {
namespace {

struct Published {
  double release_low_s, release_high_s;  // one release pulse
  double rate_low_hz, rate_high_hz;      // cycles of one front wheel
};

// Ids as in tests/SOURCES.md. Wet lies between the good-grip and the low-grip figures.
Published published(std::string_view surface) {
  if (surface == "dry" || surface == "dry-concrete" || surface == "dry-cobble")
    return {0.010, 0.050, 4.0, 10.0};                                          // CT-26, CT-06
  if (surface == "snow" || surface == "ice") return {0.050, 0.200, 2.0, 5.0};  // CT-06, from memory
  return {0.020, 0.080, 2.0, 5.0};  // 40 ms in the middle, 2 to 5 cycles a second: from memory
}

// A range in a book is taken as two standard deviations to either side of its middle.
double middle(double low, double high) { return std::sqrt(low * high); }
double doubt(double low, double high) { return 0.25 * std::log(high / low); }

}  // namespace

StopForecast published_forecast(std::string_view surface, MetresPerSecond entry) {
  const Ground ground = find_ground(surface).value_or(grounds().front());
  const Published figures = published(surface);
  const double decel = gravity_mps2 * middle(ground.mu_low, ground.mu_high);
  StopForecast forecast;
  forecast.stop_s = entry.value() / decel;
  forecast.active_s = std::max(0.0, entry.value() - from_kmh(control_fades_kmh).value()) / decel;
  // How long the stop lasts is as uncertain as the friction; it widens the count of pulses.
  const double rate_doubt = std::hypot(doubt(figures.rate_low_hz, figures.rate_high_hz),
                                       doubt(ground.mu_low, ground.mu_high));
  for (const Corner corner : all_corners) {
    // Rears cycle less often than fronts (common practice: about half).
    const double share = is_front(corner) ? 1.0 : 0.5;
    const double rate = share * middle(figures.rate_low_hz, figures.rate_high_hz);
    PulsePrior& release = forecast.releases[corner];
    release = {.length_median_s = middle(figures.release_low_s, figures.release_high_s),
               .length_spread_ln = 0.3,  // chosen: pulses of one stop differ by a third
               .length_doubt_ln = doubt(figures.release_low_s, figures.release_high_s),
               .rate_median_hz = rate,
               .rate_doubt_ln = rate_doubt};
    // Closed inlet: release and hold together, about 60 % of a cycle (common practice).
    forecast.holds[corner] = release;
    forecast.holds[corner].length_median_s = std::max(release.length_median_s, 0.6 * share / rate);
  }
  forecast.basis = "published pulse lengths and cycle rates, which are rough";
  return forecast;
}

}  // namespace stopledger
