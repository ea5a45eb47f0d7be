#include "signal/catch.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <functional>

namespace stopledger {
namespace {

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

// E[min(length, gap)] for a log-normal length: the closed form of the limited expectation,
// median * exp(s^2/2) * cdf((ln(gap/median) - s^2)/s) + gap * (1 - cdf(ln(gap/median)/s)).
double mean_covered(double median_s, double spread_ln, double gap_s) {
  if (gap_s <= 0.0) return 0.0;
  if (spread_ln <= 0.0) return std::min(median_s, gap_s);
  const double z = std::log(gap_s / median_s) / spread_ln;
  return median_s * std::exp(0.5 * spread_ln * spread_ln) * normal_cdf(z - spread_ln) +
         gap_s * (1.0 - normal_cdf(z));
}

/// mean_covered of one length for the gaps of a row of looks. Even looks leave a few gaps only,
/// which differ by the rounding of their times: each is worked out once.
class CoveredByGap {
 public:
  CoveredByGap(double median_s, double spread_ln) : median_s_(median_s), spread_ln_(spread_ln) {}

  double operator()(double gap_s) {
    if (gap_s <= 0.0) return 0.0;
    for (const Known& known : known_)
      if (known.gap_s == gap_s) return known.covered_s;
    Known& oldest = known_[next_++ % known_.size()];
    oldest = {gap_s, mean_covered(median_s_, spread_ln_, gap_s)};
    return oldest.covered_s;
  }

 private:
  struct Known {
    double gap_s = 0.0, covered_s = 0.0;
  };
  double median_s_, spread_ln_;
  std::array<Known, 6> known_{};
  std::size_t next_ = 0;
};

double shifted_median(const PulsePrior& prior, double doubt_z) {
  return prior.length_median_s * std::exp(doubt_z * prior.length_doubt_ln);
}

struct Node {
  double z, weight;
};

// The trapezoid rule is exact to rounding for smooth functions of a normal variable; 0.4 steps to
// +-4.4 leave 1e-5 of the mass outside.
std::vector<Node> normal_nodes(double deviation) {
  if (deviation <= 0.0) return {{0.0, 1.0}};
  std::vector<Node> nodes;
  double sum = 0.0;
  for (int i = -11; i <= 11; ++i) {
    const double z = 0.4 * i;
    nodes.push_back({z, std::exp(-0.5 * z * z)});
    sum += nodes.back().weight;
  }
  for (Node& node : nodes) node.weight /= sum;
  return nodes;
}

// `chances[j]` is the chance of exactly j seen so far; more than its size are not told apart.
void add_trial(std::vector<double>& chances, double p) {
  for (std::size_t j = chances.size(); j-- > 0;)
    chances[j] = chances[j] * (1.0 - p) + (j > 0 ? chances[j - 1] * p : 0.0);
}

void add_pulses(std::vector<double>& chances, double count, double p) {
  if (chances.size() == 1) {  // closed form of the loop below
    chances[0] *= std::pow(1.0 - p, std::floor(count)) * (1.0 - (count - std::floor(count)) * p);
    return;
  }
  double left = count;
  for (; left >= 1.0; left -= 1.0) add_trial(chances, p);
  add_trial(chances, left * p);
}

struct Stretch {
  double active_s;
  std::function<double(double)> single;  // chance for one pulse, given the doubt in its length
};

double catch_over(const PulsePrior& prior, const std::vector<Stretch>& stretches, int needed) {
  assert(needed >= 1);
  double caught = 0.0;
  std::vector<double> singles(stretches.size());
  for (const Node& length : normal_nodes(prior.length_doubt_ln)) {
    for (std::size_t i = 0; i < stretches.size(); ++i) singles[i] = stretches[i].single(length.z);
    for (const Node& rate : normal_nodes(prior.rate_doubt_ln)) {
      const double rate_hz = prior.rate_median_hz * std::exp(rate.z * prior.rate_doubt_ln);
      std::vector<double> chances(static_cast<std::size_t>(needed), 0.0);
      chances[0] = 1.0;
      for (std::size_t i = 0; i < stretches.size(); ++i)
        add_pulses(chances, rate_hz * std::max(0.0, stretches[i].active_s), singles[i]);
      double missed = 0.0;
      for (const double chance : chances) missed += chance;
      caught += length.weight * rate.weight * (1.0 - missed);
    }
  }
  return std::clamp(caught, 0.0, 1.0);
}

}  // namespace

double single_catch(const PulsePrior& prior, const CatchWindow& window, double doubt_z) {
  const double span_s = window.end_s - window.start_s;
  if (!(span_s > 0.0) || !(prior.length_median_s > 0.0)) return 0.0;
  CoveredByGap mean_covered_of(shifted_median(prior, doubt_z), prior.length_spread_ln);
  double covered = 0.0;
  double from = window.start_s;
  for (const double sample : window.sample_t_s) {
    if (sample <= from) continue;
    // Starts between `from` and `to` are seen by this sample when the pulse lasts until it.
    const double to = std::min(sample, window.end_s);
    covered += mean_covered_of(sample - from) - mean_covered_of(sample - to);
    from = to;
    if (from >= window.end_s) break;
  }
  return std::clamp(covered / span_s, 0.0, 1.0);
}

double single_catch(const PulsePrior& prior, double interval_s, double jitter, double doubt_z) {
  if (!(interval_s > 0.0) || !(prior.length_median_s > 0.0)) return 0.0;
  const double median = shifted_median(prior, doubt_z);
  // Intervals spread evenly over interval * (1 +- sqrt(3) jitter); three Gauss-Legendre points.
  const double reach = std::sqrt(3.0) * std::clamp(jitter, 0.0, 0.5) * std::sqrt(0.6);
  const double covered =
      (5.0 * mean_covered(median, prior.length_spread_ln, interval_s * (1.0 - reach)) +
       8.0 * mean_covered(median, prior.length_spread_ln, interval_s) +
       5.0 * mean_covered(median, prior.length_spread_ln, interval_s * (1.0 + reach))) /
      18.0;
  return std::clamp(covered / interval_s, 0.0, 1.0);
}

double catch_probability(const PulsePrior& prior, std::span<const CatchWindow> windows,
                         int needed) {
  std::vector<Stretch> stretches;
  for (const CatchWindow& window : windows)
    stretches.push_back(
        {window.end_s - window.start_s, [&](double z) { return single_catch(prior, window, z); }});
  return catch_over(prior, stretches, needed);
}

double catch_by_any(std::span<const CatchWatch> watches) {
  assert(!watches.empty());
  const CatchWatch& first = watches.front();
  const auto single = [&](double z) {
    double missed = 1.0;
    for (const CatchWatch& watch : watches)
      missed *= 1.0 - single_catch(watch.prior, watch.window, z);
    return 1.0 - missed;
  };
  return catch_over(first.prior, {{first.window.end_s - first.window.start_s, single}}, 1);
}

double catch_probability(const PulsePrior& prior, double interval_s, double active_s, int needed,
                         double jitter) {
  return catch_over(
      prior, {{active_s, [&](double z) { return single_catch(prior, interval_s, jitter, z); }}},
      needed);
}

}  // namespace stopledger
