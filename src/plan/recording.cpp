#include "plan/recording.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <numeric>
#include <utility>

#include "plan/look_chances.h"

namespace stopledger {
namespace {

// What is compared between groupings: stops first; then fewer kinds of runs, because a setting
// changed is a setting got wrong; then corners of one axle together.
struct Cost {
  int stops = LookChances::never, kinds = 0, mixed = 0;
  auto operator<=>(const Cost&) const = default;
  Cost operator+(const Cost& other) const {
    return {std::min(LookChances::never, stops + other.stops), kinds + other.kinds,
            mixed + other.mixed};
  }
};

// The cheapest grouping in which each look is served by one kind: all are searched.
LookChances::Kinds best_grouping(LookChances& looks, std::uint32_t possible) {
  const std::size_t count = looks.count();
  const std::uint32_t all = 1U << count;
  std::vector<Cost> together(all), best(all);
  std::vector<std::uint32_t> first_kind(all, 0);
  best[0] = {0, 0, 0};
  for (std::uint32_t mask = 1; mask < all; ++mask) {
    if ((mask & ~possible) != 0) continue;
    int stops = 0;
    for (std::size_t i = 0; i < count; ++i)
      if ((mask >> i & 1U) != 0) stops = std::max(stops, looks.stops_needed(i, mask));
    together[mask] = {stops, 1, looks.mixes_axles(mask) ? 1 : 0};
    // The kind that holds the lowest look is tried in all forms; the rest is known already.
    const std::uint32_t lowest = mask & (~mask + 1U);
    for (std::uint32_t kind = mask; kind != 0; kind = (kind - 1U) & mask) {
      if ((kind & lowest) == 0 || together[kind].stops >= LookChances::never) continue;
      const Cost cost = together[kind] + best[mask & ~kind];
      if (first_kind[mask] == 0 || cost < best[mask]) {
        best[mask] = cost;
        first_kind[mask] = kind;
      }
    }
  }
  LookChances::Kinds kinds;
  for (std::uint32_t mask = possible; mask != 0; mask &= ~first_kind[mask])
    kinds[first_kind[mask]] = together[first_kind[mask]].stops;
  return kinds;
}

int stops_of(const LookChances::Kinds& kinds) {
  return std::accumulate(kinds.begin(), kinds.end(), 0,
                         [](int sum, const auto& kind) { return sum + kind.second; });
}

// Stop by stop the set of columns that brings the looks nearest to the aim; sets may share looks.
LookChances::Kinds greedy(LookChances& looks, std::uint32_t possible, int most) {
  const auto distance = [&](const LookChances::Kinds& kinds) {
    double sum = 0.0;
    for (std::size_t i = 0; i < looks.count(); ++i)
      if ((possible >> i & 1U) != 0)
        sum += std::max(0.0, std::log((1.0 - looks.chance(i, kinds)) / (1.0 - looks.aim(i))));
    return sum;
  };
  LookChances::Kinds kinds;
  for (double left = distance(kinds); left > 0.0 && stops_of(kinds) < most;) {
    std::uint32_t chosen = 0;
    for (std::uint32_t set = possible; set != 0; set = (set - 1U) & possible) {
      if (!looks.interval_s(set)) continue;
      LookChances::Kinds tried = kinds;
      ++tried[set];
      if (const double now = distance(tried); now < left - 1e-12) {
        left = now;
        chosen = set;
      }
    }
    if (chosen == 0) return {};
    ++kinds[chosen];
  }
  return kinds;
}

// Kinds that share looks can save stops: two stops are taken away and one of any set put in their
// place, as long as every look keeps its aim.
bool save_one_stop(LookChances& looks, std::uint32_t possible, LookChances::Kinds& kinds) {
  std::vector<std::uint32_t> present;
  for (const auto& [mask, stops] : kinds) present.push_back(mask);
  for (std::size_t a = 0; a < present.size(); ++a)
    for (std::size_t b = a; b < present.size(); ++b) {
      LookChances::Kinds fewer = kinds;
      --fewer[present[a]];
      --fewer[present[b]];
      if (fewer[present[a]] < 0) continue;
      for (std::uint32_t set = possible; set != 0; set = (set - 1U) & possible) {
        if (!looks.interval_s(set)) continue;
        LookChances::Kinds tried = fewer;
        ++tried[set];
        if (!looks.holds(possible, tried)) continue;
        std::erase_if(tried, [](const auto& kind) { return kind.second == 0; });
        kinds = std::move(tried);
        return true;
      }
    }
  return false;
}

}  // namespace

int RecordingPlan::stops() const {
  return std::accumulate(runs.begin(), runs.end(), 0,
                         [](int sum, const RunKind& run) { return sum + run.stops; });
}

RecordingPlan plan_recording(std::span<const Look> wanted, const Recorder& recorder,
                             const RecordingAim& aim) {
  assert(wanted.size() <= 12);
  LookChances looks(wanted, recorder, aim);
  RecordingPlan plan;

  // A look that fails even alone in the recorder is set aside and named.
  std::uint32_t possible = 0;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (looks.stops_needed(i, 1U << i) < LookChances::never)
      possible |= 1U << i;
    else
      plan.unreachable.push_back(i);
  }
  LookChances::Kinds kinds = best_grouping(looks, possible);
  const auto polish = [&](LookChances::Kinds& some) {
    while (save_one_stop(looks, possible, some)) {
    }
  };
  // Far beyond a session there is nothing to gain by polishing.
  if (!aim.few_settings && stops_of(kinds) <= 2 * aim.most_stops) {
    LookChances::Kinds fewest = kinds;
    polish(fewest);
    LookChances::Kinds shared = greedy(looks, possible, stops_of(fewest));
    const bool holds = looks.holds(possible, shared);
    if (holds) polish(shared);
    if (holds && stops_of(shared) < stops_of(fewest)) fewest = std::move(shared);
    // One stop is not worth a further setting of the recorder, unless the session is full.
    if (stops_of(fewest) + 1 < stops_of(kinds) || fewest.size() <= kinds.size() ||
        stops_of(kinds) > aim.most_stops)
      kinds = std::move(fewest);
  }
  plan.wanted_stops = stops_of(kinds);
  plan.fits = plan.wanted_stops <= aim.most_stops;
  plan.reached = plan.unreachable.empty() && plan.fits;

  // Too many: take away, one by one, the stop whose loss leaves its weakest look best off.
  while (stops_of(kinds) > aim.most_stops) {
    double best = -1.0;
    std::uint32_t spared = 0;
    for (const auto& [mask, stops] : kinds) {
      if (stops == 0) continue;
      LookChances::Kinds fewer = kinds;
      --fewer[mask];
      double weakest = 1.0;
      for (std::size_t i = 0; i < wanted.size(); ++i)
        if ((mask >> i & 1U) != 0) weakest = std::min(weakest, looks.chance(i, fewer));
      if (weakest > best) {
        best = weakest;
        spared = mask;
      }
    }
    --kinds[spared];
  }

  for (const auto& [mask, stops] : kinds) {
    if (stops == 0) continue;
    RunKind run{.looks = {}, .columns = looks.columns(mask), .interval_s = 0.0, .stops = stops};
    run.interval_s = looks.interval_s(mask).value_or(0.0);
    for (std::size_t i = 0; i < wanted.size(); ++i)
      if ((mask >> i & 1U) != 0) run.looks.push_back(i);
    plan.runs.push_back(std::move(run));
  }
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    plan.chances.push_back(looks.chance(i, kinds));
    plan.aims.push_back(looks.aim(i));
  }
  return plan;
}

}  // namespace stopledger
