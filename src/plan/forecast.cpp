#include "plan/forecast.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/forecast.h"

namespace stopledger {

double RunForecast::releases_in_a_stop(Corner corner, double quantile) const {
  std::vector<int> counts = release_counts[corner];
  if (counts.empty()) return 0.0;
  const auto place = std::lround(quantile * static_cast<double>(counts.size() - 1));
  std::nth_element(counts.begin(), counts.begin() + place, counts.end());
  return counts[static_cast<std::size_t>(place)];
}

RunForecast forecast_run(const CarFacts& car, const Ground& ground, MetresPerSecond entry,
                         int draws, std::uint64_t seed) {
  const auto surface = model::parse_surface(ground.name).value_or(model::Surface::wet_asphalt);
  const model::StopForecast stops = model::forecast_stop(car, surface, to_kmh(entry), draws, seed);
  RunForecast forecast;
  forecast.stop_s = stops.duration_s(0.5);
  forecast.answer_rate_hz = ground.answer_rate_hz;
  for (const model::StopDraw& draw : stops.draws)
    for (const Corner corner : all_corners) {
      forecast.releases[corner].push_back(draw.release_on_s[corner]);
      forecast.release_counts[corner].push_back(draw.releases[corner]);
    }
  forecast.basis = fmt::format(
      "{} simulated stops of a healthy car on {} ground; real pulse lengths and cycle rates differ "
      "from unit to unit",
      draws, ground.name);
  return forecast;
}

}  // namespace stopledger
