#include "model/forecast.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "model/random.h"
#include "model/scenario.h"
#include "model/simulate.h"
#include "model/truth.h"

namespace stopledger::model {
namespace {

double quantile_of(std::vector<double> values, double q) {
  if (values.empty()) return 0.0;
  std::sort(values.begin(), values.end());
  const double place = q * static_cast<double>(values.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, values.size() - 1);
  return values[below] + (place - static_cast<double>(below)) * (values[above] - values[below]);
}

StopDraw measure(const Run& run, const Case& c) {
  StopDraw draw;
  const Truth truth = find_truth(run, c);
  for (const Event& event : truth.events)
    if (event.kind == EventKind::stop) {
      draw.duration_s = event.end_s - event.start_s;
      draw.distance_m = event.distance_m;
    }
  for (Corner corner : all_corners) {
    for (const Release& r : truth.corners[corner].releases)
      if (r.cause == Cause::antilock) {
        ++draw.releases[corner];
        draw.release_on_s[corner].push_back(r.on_s);
      }
    double first = -1.0, last = -1.0;
    bool inlet = false, outlet = false;
    for (const Frame& f : run.frames) {
      const bool inlet_on = f.inlet[corner] > 0.5, outlet_on = f.outlet[corner] > 0.5;
      if (inlet_on && !inlet) draw.inlet_on_s[corner].push_back(0.0);
      if (inlet_on) draw.inlet_on_s[corner].back() += run.step_s;
      if (outlet_on && !outlet) draw.outlet_on_s[corner].push_back(0.0);
      if (outlet_on) draw.outlet_on_s[corner].back() += run.step_s;
      if ((inlet_on || outlet_on) && first < 0.0) first = f.t_s;
      if (inlet_on || outlet_on) last = f.t_s;
      inlet = inlet_on;
      outlet = outlet_on;
    }
    draw.control_s[corner] = first >= 0.0 ? last - first + run.step_s : 0.0;
  }
  return draw;
}

}  // namespace

StopForecast forecast_stop(const CarFacts& facts, Surface surface, double speed_kmh, int n_draws,
                           std::uint64_t seed) {
  assert(speed_kmh >= 10.0 && n_draws >= 1);
  Random random(seed);
  StopForecast out;
  for (int i = 0; i < n_draws; ++i) {
    Case c;
    c.car = draw_car(random, facts);
    c.unit = draw_unit(random, c.car, facts);
    c.controller = draw_controller(random, Split::tuning, c.unit, facts);
    const Grip grip = draw_grip(random, surface);
    c.ground = {{grip, grip}};
    c.manoeuvre = straight_stop(speed_kmh / 3.6, 0.3, random.uniform(8e3, 13e3), 0.05);
    out.draws.push_back(measure(simulate(c, random.next_seed()), c));
  }
  return out;
}

double StopForecast::duration_s(double quantile) const {
  std::vector<double> values;
  for (const StopDraw& d : draws) values.push_back(d.duration_s);
  return quantile_of(std::move(values), quantile);
}

double StopForecast::distance_m(double quantile) const {
  std::vector<double> values;
  for (const StopDraw& d : draws) values.push_back(d.distance_m);
  return quantile_of(std::move(values), quantile);
}

double StopForecast::releases(Corner corner, double quantile) const {
  std::vector<double> values;
  for (const StopDraw& d : draws) values.push_back(d.releases[corner]);
  return quantile_of(std::move(values), quantile);
}

double StopForecast::cycle_rate_hz(Corner corner, double quantile) const {
  std::vector<double> values;
  for (const StopDraw& d : draws)
    values.push_back(d.control_s[corner] > 0.0 ? d.releases[corner] / d.control_s[corner] : 0.0);
  return quantile_of(std::move(values), quantile);
}

double StopForecast::catch_chance(Corner corner, double interval_s, int stops) const {
  double sum = 0.0;
  for (const StopDraw& d : draws) {
    double miss = 1.0;
    for (double on_s : d.outlet_on_s[corner]) miss *= 1.0 - std::min(on_s / interval_s, 1.0);
    sum += 1.0 - std::pow(miss, stops);
  }
  return draws.empty() ? 0.0 : sum / static_cast<double>(draws.size());
}

double StopForecast::pulse_s(Corner corner, double quantile) const {
  std::vector<double> values;
  for (const StopDraw& d : draws)
    values.insert(values.end(), d.outlet_on_s[corner].begin(), d.outlet_on_s[corner].end());
  return quantile_of(std::move(values), quantile);
}

}  // namespace stopledger::model
