// The chance to catch a pulse: by hand, against direct simulation, and where it stops being true.
#include "signal/catch.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <vector>

using namespace stopledger;

namespace {

using Engine = std::mt19937_64;

double uniform(Engine& engine, double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(engine);
}

double normal(Engine& engine) { return std::normal_distribution<double>()(engine); }

// How many of the pulses hold a sample; pulses as start and length, samples sorted.
int seen(const std::vector<std::pair<double, double>>& pulses, const std::vector<double>& samples) {
  int count = 0;
  for (const auto& [start, length] : pulses) {
    const auto next = std::lower_bound(samples.begin(), samples.end(), start);
    count += next != samples.end() && *next < start + length ? 1 : 0;
  }
  return count;
}

// One try, with nothing shared with the code under test: pulses thrown into the window, a sample
// clock with random phase run across it, seen pulses counted.
int one_try(Engine& engine, const PulsePrior& prior, double interval_s, double active_s) {
  const double median = prior.length_median_s * std::exp(prior.length_doubt_ln * normal(engine));
  const double expected =
      active_s * prior.rate_median_hz * std::exp(prior.rate_doubt_ln * normal(engine));
  const int count = static_cast<int>(expected) +
                    (uniform(engine, 0.0, 1.0) < expected - std::floor(expected) ? 1 : 0);
  std::vector<std::pair<double, double>> pulses;
  for (int i = 0; i < count; ++i)
    pulses.emplace_back(uniform(engine, 0.0, active_s),
                        median * std::exp(prior.length_spread_ln * normal(engine)));
  std::vector<double> samples;
  for (double t = uniform(engine, 0.0, interval_s); t < active_s + 2.0 * interval_s;
       t += interval_s)
    samples.push_back(t);
  return seen(pulses, samples);
}

}  // namespace

TEST_CASE("pulses of one length are caught with length over interval", "[signal][catch]") {
  const PulsePrior prior{.length_median_s = 0.04, .rate_median_hz = 7.0};
  CHECK(single_catch(prior, 0.2) == Approx(0.2).margin(1e-12));   // 0.04 / 0.2
  CHECK(single_catch(prior, 0.02) == Approx(1.0).margin(1e-12));  // never between two samples
  // 1 - 0.8^7 = 0.79028
  CHECK(catch_probability(prior, 0.2, 1.0) == Approx(0.7902848).margin(1e-9));
  // at least two of seven: 1 - 0.8^7 - 7 * 0.2 * 0.8^6 = 0.42328
  CHECK(catch_probability(prior, 0.2, 1.0, 2) == Approx(0.4232832).margin(1e-9));
  // half a pulse expected: seen with 0.5 * 0.2
  CHECK(catch_probability(prior, 0.2, 0.5 / 7.0) == Approx(0.1).margin(1e-12));
}

TEST_CASE("only the sample times decide", "[signal][catch]") {
  const PulsePrior prior{.length_median_s = 0.1, .rate_median_hz = 1.0};
  // Window 0 to 1 s; samples at 0.05, 0.45, 0.5: starts in [0, 0.05], [0.35, 0.45], [0.45, 0.5]
  const std::vector<double> samples{0.05, 0.45, 0.5};
  CHECK(single_catch(prior, {0.0, 1.0, samples}) == Approx(0.20).margin(1e-12));
  // A sample after the end sees starts in [0.96, 1.0] too.
  const std::vector<double> later{0.05, 0.45, 0.5, 1.06};
  CHECK(single_catch(prior, {0.0, 1.0, later}) == Approx(0.24).margin(1e-12));
  CHECK(single_catch(prior, {0.0, 1.0, {}}) == 0.0);
  CHECK(single_catch(prior, {1.0, 1.0, samples}) == 0.0);
  // Two windows of one pulse each, seen with 0.20 and 0.24: 1 - 0.80 * 0.76
  const std::vector<CatchWindow> both{{0.0, 1.0, samples}, {0.0, 1.0, later}};
  CHECK(catch_probability(prior, both) == Approx(0.392).margin(1e-12));
  CHECK(catch_probability(prior, both, 2) == Approx(0.048).margin(1e-12));  // 0.20 * 0.24
}

TEST_CASE("regular sample times and an interval say the same", "[signal][catch]") {
  const PulsePrior prior{.length_median_s = 0.05,
                         .length_spread_ln = 0.4,
                         .length_doubt_ln = 0.3,
                         .rate_median_hz = 4.0,
                         .rate_doubt_ln = 0.3};
  std::vector<double> samples;
  for (int i = 1; i <= 30; ++i) samples.push_back(0.1 * i);
  const std::vector<CatchWindow> window{{0.0, 3.0, samples}};
  CHECK(catch_probability(prior, window, 3) ==
        Approx(catch_probability(prior, 0.1, 3.0, 3)).margin(1e-9));
}

TEST_CASE("the chance agrees with direct simulation", "[signal][catch]") {
  struct Case {
    PulsePrior prior;
    double interval_s, active_s;
    int needed;
  };
  const int tries = 20000;
  Engine engine(20261125);
  for (const Case& c : {Case{{0.04, 0.0, 0.0, 4.0, 0.0}, 0.2, 2.0, 1},
                        Case{{0.04, 0.5, 0.0, 4.0, 0.0}, 0.2, 2.0, 1},
                        Case{{0.04, 0.5, 0.5, 4.0, 0.3}, 0.2, 2.0, 1},
                        Case{{0.12, 0.4, 0.4, 3.0, 0.3}, 0.1, 3.5, 4},
                        Case{{0.03, 0.3, 0.6, 5.0, 0.4}, 0.8, 12.0, 1},
                        Case{{0.06, 0.4, 0.5, 0.3, 0.4}, 0.05, 2.5, 1},
                        Case{{0.06, 0.4, 0.5, 3.0, 0.4}, 0.01, 1.0, 3}}) {
    int hits = 0;
    for (int i = 0; i < tries; ++i)
      hits += one_try(engine, c.prior, c.interval_s, c.active_s) >= c.needed ? 1 : 0;
    const double share = static_cast<double>(hits) / tries;
    INFO("interval " << c.interval_s << " active " << c.active_s << " needed " << c.needed);
    // Four standard errors of a share of 20 000 tries: at most 0.0141.
    CHECK(catch_probability(c.prior, c.interval_s, c.active_s, c.needed) ==
          Approx(share).margin(0.0141));
  }
}

TEST_CASE("jitter and doubt cost, samples and pulses help", "[signal][catch]") {
  const PulsePrior sure{.length_median_s = 0.15, .rate_median_hz = 3.0};
  PulsePrior unsure = sure;
  unsure.length_doubt_ln = 0.6;
  CHECK(catch_probability(sure, 0.16, 2.0, 1, 0.4) < catch_probability(sure, 0.16, 2.0));
  CHECK(catch_probability(unsure, 0.2, 2.0) < catch_probability(sure, 0.2, 2.0));
  double last = 0.0;
  for (const double active : {0.5, 1.0, 2.0, 4.0, 8.0}) {
    const double now = catch_probability(unsure, 0.5, active);
    CHECK(now > last);
    last = now;
  }
}

TEST_CASE("a rhythm that is not steady costs little even when the recorder beats with it",
          "[signal][catch]") {
  // Real control is no metronome: a cycle's length differs by a quarter or so. Worst case: the
  // recorder's interval equals the mean cycle.
  const PulsePrior prior{.length_median_s = 0.06, .length_spread_ln = 0.3, .rate_median_hz = 4.0};
  const int tries = 20000;
  Engine engine(7);
  for (const double interval : {0.25, 0.5, 0.2}) {
    int hits = 0;
    for (int i = 0; i < tries; ++i) {
      std::vector<std::pair<double, double>> pulses;
      double t = uniform(engine, 0.0, 0.25);
      for (int n = 0; n < 12; ++n) {
        pulses.emplace_back(t, 0.06 * std::exp(0.3 * normal(engine)));
        t += 0.25 * std::max(0.3, 1.0 + 0.25 * normal(engine));
      }
      std::vector<double> samples;
      for (double s = uniform(engine, 0.0, interval); s < t + 1.0; s += interval)
        samples.push_back(s);
      hits += seen(pulses, samples) >= 1 ? 1 : 0;
    }
    const double share = static_cast<double>(hits) / tries;
    INFO("interval " << interval << " share " << share);
    CHECK(catch_probability(prior, interval, 3.0) == Approx(share).margin(0.03));
  }
}

TEST_CASE("two channels see more of the same pulses than the better one", "[signal][catch]") {
  // A closing of 0.15 s holds a release of 0.04 s at its end; one recorder asks both in turns, so
  // the looks of one lie half an interval after those of the other.
  const PulsePrior closing{.length_median_s = 0.15, .length_spread_ln = 0.3, .rate_median_hz = 2.5};
  PulsePrior release = closing;
  release.length_median_s = 0.04;
  const double active = 2.0;
  const int tries = 20000;
  Engine engine(99);
  for (const double interval : {0.4, 0.8, 1.6}) {
    double said = 0.0;
    int hits = 0, better = 0;
    for (int i = 0; i < tries; ++i) {
      std::vector<std::pair<double, double>> closings, releases;
      for (int n = 0; n < 5; ++n) {
        const double start = uniform(engine, 0.0, active);
        const double length = 0.15 * std::exp(0.3 * normal(engine));
        const double part = std::min(length, 0.04 * std::exp(0.3 * normal(engine)));
        closings.emplace_back(start, length);
        releases.emplace_back(start + length - part, part);
      }
      std::vector<double> inlet, outlet;
      for (double t = uniform(engine, -interval, 0.0); t < active + 2.0; t += interval) {
        inlet.push_back(t);
        outlet.push_back(t + 0.5 * interval);
      }
      const bool by_inlet = seen(closings, inlet) > 0;
      better += by_inlet ? 1 : 0;
      hits += by_inlet || seen(releases, outlet) > 0 ? 1 : 0;
      if (i >= 200) continue;  // the phase of the looks matters, so their chance is a mean too
      const std::vector<CatchWatch> both{{closing, {0.0, active, inlet}},
                                         {release, {0.0, active, outlet}}};
      said += catch_by_any(both) / 200.0;
    }
    const double share = static_cast<double>(hits) / tries;
    INFO("interval " << interval << " share " << share << " said " << said);
    CHECK(said == Approx(share).margin(0.03));
    CHECK(share > static_cast<double>(better) / tries + 0.01);
  }
}
