#include "plan/recording.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <numeric>
#include <utility>

#include "signal/catch.h"

namespace stopledger {
namespace {

constexpr int search_limit = 60;  // stops of one kind; five sessions' worth, then "cannot"
constexpr int never = std::numeric_limits<int>::max() / 4;

// Chance of exactly 0, 1, ... pulses seen; as many entries as are told apart.
using Seen = std::vector<double>;

Seen one_stop(const Look& look, const Pulses& pulses, double interval_s, double jitter) {
  Seen seen(static_cast<std::size_t>(look.needed), 0.0);
  seen[0] = 1.0;
  for (const double length : pulses) {
    const double p = single_catch({.length_median_s = length}, interval_s, jitter);
    for (std::size_t j = seen.size(); j-- > 0;)
      seen[j] = seen[j] * (1.0 - p) + (j > 0 ? seen[j - 1] * p : 0.0);
  }
  return seen;
}

void add_stops(Seen& seen, const Seen& stop, int count) {
  for (; count > 0; --count)
    for (std::size_t j = seen.size(); j-- > 0;) {
      double sum = 0.0;
      for (std::size_t k = 0; k <= j; ++k) sum += seen[j - k] * stop[k];
      seen[j] = sum;
    }
}

/// All looks with this recorder: what columns a set of looks takes, and what stops of sets show.
class Looks {
 public:
  /// So many stops that serve that set of looks.
  using Kinds = std::map<std::uint32_t, int>;

  Looks(std::span<const Look> looks, const Recorder& recorder, const Role& clock)
      : looks_(looks), recorder_(recorder), clock_(clock), known_(looks.size()) {}

  [[nodiscard]] std::vector<Role> columns(std::uint32_t mask) const {
    std::vector<Role> columns;
    bool has_speed = false;
    for (std::size_t i = 0; i < looks_.size(); ++i) {
      if ((mask >> i & 1U) == 0) continue;
      if (std::find(columns.begin(), columns.end(), looks_[i].role) == columns.end())
        columns.push_back(looks_[i].role);
      has_speed = has_speed || looks_[i].role.quantity == QuantityKind::wheel_speed;
    }
    if (!has_speed) columns.push_back(clock_);
    return columns;
  }

  [[nodiscard]] std::optional<double> interval_s(std::uint32_t mask) const {
    return recorder_.interval_s(static_cast<int>(columns(mask).size()));
  }

  double chance(std::size_t look, const Kinds& kinds) {
    std::vector<std::pair<const std::vector<Seen>*, int>> parts;
    for (const auto& [mask, stops] : kinds)
      if ((mask >> look & 1U) != 0 && stops > 0)
        if (const auto* seen = stop_of(look, mask); !seen->empty()) parts.emplace_back(seen, stops);
    int stops = 0;
    for (const auto& [stop, count] : parts) stops += count;
    if (stops == 0 || stops < looks_[look].least_stops) return 0.0;
    double caught = 0.0;
    const std::size_t draws = parts.front().first->size();
    for (std::size_t d = 0; d < draws; ++d) {
      Seen seen(static_cast<std::size_t>(looks_[look].needed), 0.0);
      seen[0] = 1.0;
      for (const auto& [stop, count] : parts) add_stops(seen, (*stop)[d], count);
      caught += 1.0 - std::accumulate(seen.begin(), seen.end(), 0.0);
    }
    return caught / static_cast<double>(draws);
  }

  /// Least stops of one kind that bring one of its looks to the aim.
  int stops_needed(std::size_t look, std::uint32_t mask, double aim) {
    const std::size_t width = columns(mask).size();
    const auto [entry, fresh] = needed_.try_emplace({look, width}, never);
    if (!fresh) return entry->second;
    int high = 1;
    while (high < search_limit && chance(look, {{mask, high}}) < aim) high *= 2;
    high = std::min(high, search_limit);
    if (chance(look, {{mask, high}}) < aim) return never;
    int low = high / 2;  // known to be too few
    while (high - low > 1) {
      const int middle = (low + high) / 2;
      (chance(look, {{mask, middle}}) < aim ? low : high) = middle;
    }
    return entry->second = high;
  }

  [[nodiscard]] bool mixes_axles(std::uint32_t mask) const {
    bool front = false, rear = false;
    for (std::size_t i = 0; i < looks_.size(); ++i)
      if ((mask >> i & 1U) != 0)
        for (const Corner corner : looks_[i].corners) (is_front(corner) ? front : rear) = true;
    return front && rear;
  }

 private:
  // What one stop shows of a look, per draw; it depends on how many columns share the recorder, not
  // on which. Empty when this is too slow for the look, or too many columns.
  const std::vector<Seen>* stop_of(std::size_t look, std::uint32_t mask) {
    const auto [entry, fresh] = known_[look].try_emplace(columns(mask).size());
    const auto interval = interval_s(mask);
    const Look& wanted = looks_[look];
    if (fresh && interval && *interval * wanted.least_rate_hz <= 1.0)
      for (const Pulses& pulses : wanted.draws)
        entry->second.push_back(one_stop(wanted, pulses, *interval, recorder_.jitter));
    return &entry->second;
  }

  std::span<const Look> looks_;
  const Recorder& recorder_;
  Role clock_;
  std::vector<std::map<std::size_t, std::vector<Seen>>> known_;
  std::map<std::pair<std::size_t, std::size_t>, int> needed_;
};

// What is compared between groupings: stops first; then fewer kinds of runs, because a setting
// changed is a setting got wrong; then corners of one axle together.
struct Cost {
  int stops = never, kinds = 0, mixed = 0;
  auto operator<=>(const Cost&) const = default;
  Cost operator+(const Cost& other) const {
    return {std::min(never, stops + other.stops), kinds + other.kinds, mixed + other.mixed};
  }
};

// The cheapest grouping in which each look is served by one kind: all are searched.
Looks::Kinds best_grouping(Looks& looks, std::size_t count, std::uint32_t possible, double aim) {
  const std::uint32_t all = 1U << count;
  std::vector<Cost> together(all), best(all);
  std::vector<std::uint32_t> first_kind(all, 0);
  best[0] = {0, 0, 0};
  for (std::uint32_t mask = 1; mask < all; ++mask) {
    if ((mask & ~possible) != 0) continue;
    int stops = 0;
    for (std::size_t i = 0; i < count; ++i)
      if ((mask >> i & 1U) != 0) stops = std::max(stops, looks.stops_needed(i, mask, aim));
    together[mask] = {stops, 1, looks.mixes_axles(mask) ? 1 : 0};
    // The kind that holds the lowest look is tried in all forms; the rest is known already.
    const std::uint32_t lowest = mask & (~mask + 1U);
    for (std::uint32_t kind = mask; kind != 0; kind = (kind - 1U) & mask) {
      if ((kind & lowest) == 0 || together[kind].stops >= never) continue;
      const Cost cost = together[kind] + best[mask & ~kind];
      if (first_kind[mask] == 0 || cost < best[mask]) {
        best[mask] = cost;
        first_kind[mask] = kind;
      }
    }
  }
  Looks::Kinds kinds;
  for (std::uint32_t mask = possible; mask != 0; mask &= ~first_kind[mask])
    kinds[first_kind[mask]] = together[first_kind[mask]].stops;
  return kinds;
}

int stops_of(const Looks::Kinds& kinds) {
  return std::accumulate(kinds.begin(), kinds.end(), 0,
                         [](int sum, const auto& kind) { return sum + kind.second; });
}

// Stop by stop the set of columns that brings the looks nearest to the aim; sets may share looks.
Looks::Kinds greedy(Looks& looks, std::size_t count, std::uint32_t possible, double aim, int most) {
  const auto distance = [&](const Looks::Kinds& kinds) {
    double sum = 0.0;
    for (std::size_t i = 0; i < count; ++i)
      if ((possible >> i & 1U) != 0)
        sum += std::max(0.0, std::log((1.0 - looks.chance(i, kinds)) / (1.0 - aim)));
    return sum;
  };
  Looks::Kinds kinds;
  for (double left = distance(kinds); left > 0.0 && stops_of(kinds) < most;) {
    std::uint32_t chosen = 0;
    for (std::uint32_t set = possible; set != 0; set = (set - 1U) & possible) {
      if (!looks.interval_s(set)) continue;
      Looks::Kinds tried = kinds;
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
bool save_one_stop(Looks& looks, std::size_t count, std::uint32_t possible, double aim,
                   Looks::Kinds& kinds) {
  const auto holds = [&](const Looks::Kinds& tried) {
    for (std::size_t i = 0; i < count; ++i)
      if ((possible >> i & 1U) != 0 && looks.chance(i, tried) < aim) return false;
    return true;
  };
  std::vector<std::uint32_t> present;
  for (const auto& [mask, stops] : kinds) present.push_back(mask);
  for (std::size_t a = 0; a < present.size(); ++a)
    for (std::size_t b = a; b < present.size(); ++b) {
      Looks::Kinds fewer = kinds;
      --fewer[present[a]];
      --fewer[present[b]];
      if (fewer[present[a]] < 0) continue;
      for (std::uint32_t set = possible; set != 0; set = (set - 1U) & possible) {
        if (!looks.interval_s(set)) continue;
        Looks::Kinds tried = fewer;
        ++tried[set];
        if (!holds(tried)) continue;
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
  Looks looks(wanted, recorder, aim.clock);
  RecordingPlan plan;

  // A look that fails even alone in the recorder is set aside and named.
  std::uint32_t possible = 0;
  std::vector<std::size_t> reachable;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (looks.stops_needed(i, 1U << i, aim.chance) < never) {
      possible |= 1U << i;
      reachable.push_back(i);
    } else {
      plan.unreachable.push_back(i);
    }
  }
  Looks::Kinds kinds = best_grouping(looks, wanted.size(), possible, aim.chance);
  const auto polish = [&](Looks::Kinds& some) {
    while (save_one_stop(looks, wanted.size(), possible, aim.chance, some)) {
    }
  };
  // Far beyond a session there is nothing to gain by polishing.
  if (stops_of(kinds) <= 2 * aim.most_stops) {
    Looks::Kinds fewest = kinds;
    polish(fewest);
    Looks::Kinds shared = greedy(looks, wanted.size(), possible, aim.chance, stops_of(fewest));
    const bool holds = std::all_of(reachable.begin(), reachable.end(), [&](std::size_t i) {
      return looks.chance(i, shared) >= aim.chance;
    });
    if (holds) polish(shared);
    if (holds && stops_of(shared) < stops_of(fewest)) fewest = std::move(shared);
    // One stop is not worth a further setting of the recorder, unless the session is full.
    if (stops_of(fewest) + 1 < stops_of(kinds) || fewest.size() <= kinds.size() ||
        stops_of(kinds) > aim.most_stops)
      kinds = std::move(fewest);
  }
  plan.reached = plan.unreachable.empty() && stops_of(kinds) <= aim.most_stops;

  // Too many: take away, one by one, the stop whose loss leaves its weakest look best off.
  while (stops_of(kinds) > aim.most_stops) {
    double best = -1.0;
    std::uint32_t spared = 0;
    for (const auto& [mask, stops] : kinds) {
      if (stops == 0) continue;
      Looks::Kinds fewer = kinds;
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
  for (std::size_t i = 0; i < wanted.size(); ++i) plan.chances.push_back(looks.chance(i, kinds));
  return plan;
}

double look_chance(const Look& look, const Recorder& recorder, int columns, int stops) {
  const auto interval = recorder.interval_s(columns);
  if (!interval || *interval * look.least_rate_hz > 1.0 || stops < look.least_stops ||
      look.draws.empty())
    return 0.0;
  double caught = 0.0;
  for (const Pulses& pulses : look.draws) {
    Seen seen(static_cast<std::size_t>(look.needed), 0.0);
    seen[0] = 1.0;
    add_stops(seen, one_stop(look, pulses, *interval, recorder.jitter), stops);
    caught += 1.0 - std::accumulate(seen.begin(), seen.end(), 0.0);
  }
  return caught / static_cast<double>(look.draws.size());
}

}  // namespace stopledger
