// The recording plan against the best that any choice of columns per stop can do.
#include "plan/recording.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>
#include <set>

using namespace stopledger;

namespace {

// `count` pulses of one length in every stop.
Look release(Corner corner, double length_s, int count) {
  return {Role::at(QuantityKind::outlet, corner),
          {corner},
          {Pulses(static_cast<std::size_t>(count), length_s)},
          1,
          0.0};
}

// Least number of stops when every stop may have its own columns. One draw
// only: misses of several stops then multiply, which is all that this search knows of the chance.
int best_by_brute_force(const std::vector<Look>& looks, const Recorder& recorder, double aim,
                        int most) {
  const unsigned sets = 1U << looks.size();
  std::vector<std::vector<double>> miss(sets, std::vector<double>(looks.size(), 1.0));
  for (unsigned set = 1; set < sets; ++set) {
    const int columns = __builtin_popcount(set) + 1;  // and the clock
    for (std::size_t i = 0; i < looks.size(); ++i)
      if ((set >> i & 1U) != 0) miss[set][i] = 1.0 - look_chance(looks[i], recorder, columns, 1);
  }
  std::function<bool(int, unsigned, std::vector<double>)> reach =
      [&](int stops, unsigned from, const std::vector<double>& missed) {
        if (std::all_of(missed.begin(), missed.end(), [&](double m) { return m <= 1.0 - aim; }))
          return true;
        if (stops == 0) return false;
        for (unsigned set = from; set < sets; ++set) {
          std::vector<double> next = missed;
          for (std::size_t i = 0; i < looks.size(); ++i) next[i] *= miss[set][i];
          if (reach(stops - 1, set, next)) return true;
        }
        return false;
      };
  for (int stops = 1; stops <= most; ++stops)
    if (reach(stops, 1, std::vector<double>(looks.size(), 1.0))) return stops;
  return most + 1;
}

}  // namespace

TEST_CASE("the plan is within one stop of the best by brute force", "[plan][recording]") {
  int cases = 0, exact = 0;
  for (const char* budget : {"4/s", "8/s", "15/s", "30/s", "3/s each", "10/s block max 3"})
    for (const int rear : {8, 4, 2})
      for (const double length : {0.03, 0.06, 0.12})
        for (const int count : {2, 3, 4}) {
          std::vector<Look> looks{release(Corner::fl, length, 8), release(Corner::fr, length, 8),
                                  release(Corner::rl, length, rear),
                                  release(Corner::rr, length, rear)};
          looks.resize(static_cast<std::size_t>(count));
          const Recorder recorder = parse_recorder(budget);
          const auto plan = plan_recording(looks, recorder, {.most_stops = 40});
          const int most = 8;
          if (plan.stops() > most) continue;  // brute force grows as 15^stops
          const int best = best_by_brute_force(looks, recorder, 0.95, most);
          INFO(budget << " rear " << rear << " length " << length << " looks " << count);
          CHECK(plan.reached);
          CHECK(plan.stops() <= best + 1);
          CHECK(plan.stops() >= best);
          ++cases;
          exact += plan.stops() == best ? 1 : 0;
        }
  CHECK(cases >= 50);
  WARN("brute force: " << exact << " of " << cases
                       << " cases exactly the best, the others one over");
}

TEST_CASE("every look of the plan has its promised chance", "[plan][recording]") {
  const std::vector<Look> looks{release(Corner::fl, 0.04, 6), release(Corner::fr, 0.04, 6),
                                release(Corner::rl, 0.04, 3), release(Corner::rr, 0.04, 3)};
  const auto plan = plan_recording(looks, parse_recorder("8/s"), {.most_stops = 40});
  CHECK(plan.reached);
  std::multiset<std::size_t> served;
  for (const RunKind& run : plan.runs) {
    served.insert(run.looks.begin(), run.looks.end());
    // Columns in turn, the clock of the stop among them.
    CHECK(run.columns.size() == run.looks.size() + 1);
    CHECK(run.interval_s == Approx(static_cast<double>(run.columns.size()) / 8.0));
    for (const std::size_t i : run.looks) {
      CHECK(plan.chances[i] >= 0.95);
      // One stop less would not do for at least one look of the kind.
    }
    CHECK(std::any_of(run.looks.begin(), run.looks.end(), [&](std::size_t i) {
      return look_chance(looks[i], parse_recorder("8/s"), static_cast<int>(run.columns.size()),
                         run.stops - 1) < 0.95;
    }));
  }
  CHECK(served == std::multiset<std::size_t>{0, 1, 2, 3});
}

TEST_CASE("what cannot be reached is said, and the stops stay within the session",
          "[plan][recording]") {
  std::vector<Look> looks{release(Corner::fl, 0.02, 4), release(Corner::fr, 0.02, 4)};
  // A wheel's answer needs 12 looks a second: no count of stops makes up for 4.
  looks.push_back(
      {Role::at(QuantityKind::wheel_speed, Corner::fl), {Corner::fl}, {Pulses(4, 0.15)}, 2, 12.0});
  const auto plan = plan_recording(looks, parse_recorder("4/s"), {.most_stops = 7});
  CHECK_FALSE(plan.reached);
  CHECK(plan.unreachable == std::vector<std::size_t>{2});
  CHECK(plan.stops() <= 7);
  CHECK(plan.chances[0] > 0.0);
  CHECK(plan.chances[0] < 0.95);
  CHECK(plan.chances[2] == 0.0);
}

TEST_CASE("cars that never release lower the ceiling and not the effort", "[plan][recording]") {
  // Every tenth car leaves the rear wheel alone: at most 0.9 of all, and 0.95 of the others.
  Look rear = release(Corner::rl, 0.04, 6);
  rear.draws.assign(9, Pulses(6, 0.04));
  rear.draws.emplace_back();
  CHECK(look_ceiling(rear) == Approx(0.9));
  const std::vector<Look> looks{rear};
  const auto plan = plan_recording(looks, parse_recorder("8/s"), {});
  REQUIRE(plan.reached);
  CHECK(plan.aims[0] == Approx(0.95 * 0.9));
  CHECK(plan.chances[0] >= 0.95 * 0.9);
  CHECK(plan.chances[0] <= 0.9);
  // The same number of stops as for a car that is sure to release.
  const std::vector<Look> plain{release(Corner::rl, 0.04, 6)};
  CHECK(plan.stops() == plan_recording(plain, parse_recorder("8/s"), {}).stops());
  // A car in fifty: 0.95 of all can be had, at the price of more stops than of those that do.
  Look rare = rear;
  rare.draws.assign(49, Pulses(6, 0.04));
  rare.draws.emplace_back();
  const std::vector<Look> some{rare};
  const auto all_cars = plan_recording(some, parse_recorder("8/s"), {});
  const auto those = plan_recording(some, parse_recorder("8/s"), {.of_those_that_do = true});
  CHECK(all_cars.chances[0] >= 0.95);
  CHECK(those.chances[0] >= 0.95 * 0.98);
  CHECK(those.stops() <= all_cars.stops());
}
