#include "plan/recording.h"

#include <algorithm>
#include <cassert>
#include <cstdint>
#include <limits>
#include <map>
#include <numeric>
#include <utility>

namespace stopledger {
namespace {

constexpr int search_limit = 60;  // stops of one kind; five sessions' worth, then "cannot"
constexpr int never = std::numeric_limits<int>::max() / 4;

std::vector<Role> columns_of(std::span<const Look> looks, std::uint32_t mask, const Role& clock) {
  std::vector<Role> columns;
  bool has_speed = false;
  for (std::size_t i = 0; i < looks.size(); ++i) {
    if ((mask >> i & 1U) == 0) continue;
    if (std::find(columns.begin(), columns.end(), looks[i].role) == columns.end())
      columns.push_back(looks[i].role);
    has_speed = has_speed || looks[i].role.quantity == QuantityKind::wheel_speed;
  }
  if (!has_speed) columns.push_back(clock);
  return columns;
}

int stops_for(const Look& look, double interval_s, double jitter, double active_s, double aim) {
  int high = 1;
  while (high < search_limit && look_chance(look, interval_s, jitter, active_s, high) < aim)
    high *= 2;
  high = std::min(high, search_limit);
  if (look_chance(look, interval_s, jitter, active_s, high) < aim) return never;
  int low = high / 2;  // known to be too few
  while (high - low > 1) {
    const int middle = (low + high) / 2;
    (look_chance(look, interval_s, jitter, active_s, middle) < aim ? low : high) = middle;
  }
  return high;
}

// What is compared between groupings: stops first; then fewer kinds of runs, because a setting
// changed is a setting got wrong; then corners of one axle together.
struct Cost {
  int stops = never, kinds = 0, mixed = 0;
  auto operator<=>(const Cost&) const = default;
  Cost operator+(const Cost& other) const {
    return {std::min(never, stops + other.stops), kinds + other.kinds, mixed + other.mixed};
  }
};

bool mixes_axles(std::span<const Look> looks, std::uint32_t mask) {
  bool front = false, rear = false;
  for (std::size_t i = 0; i < looks.size(); ++i)
    if ((mask >> i & 1U) != 0)
      for (const Corner corner : looks[i].corners) (is_front(corner) ? front : rear) = true;
  return front && rear;
}

}  // namespace

int RecordingPlan::stops() const {
  return std::accumulate(runs.begin(), runs.end(), 0,
                         [](int sum, const RunKind& run) { return sum + run.stops; });
}

double look_chance(const Look& look, double interval_s, double jitter, double active_s, int stops) {
  if (look.least_rate_hz > 0.0 && interval_s * look.least_rate_hz > 1.0) return 0.0;
  return catch_probability(look.pulses, interval_s, active_s * stops, look.needed, jitter);
}

RecordingPlan plan_recording(std::span<const Look> looks, const Recorder& recorder, double active_s,
                             const RecordingAim& aim) {
  assert(looks.size() <= 12);
  RecordingPlan plan;
  plan.chances.assign(looks.size(), 0.0);

  // Stops that a look needs depend on how many columns share the recorder, not on which.
  std::map<std::pair<std::size_t, std::size_t>, int> known;
  const auto stops_needed = [&](std::size_t look, std::size_t columns) {
    const auto [entry, fresh] = known.try_emplace({look, columns}, never);
    const auto interval = recorder.interval_s(static_cast<int>(columns));
    if (fresh && interval)
      entry->second = stops_for(looks[look], *interval, recorder.jitter, active_s, aim.chance);
    return entry->second;
  };

  // A look that fails even alone in the recorder is set aside and named.
  std::uint32_t possible = 0;
  for (std::size_t i = 0; i < looks.size(); ++i) {
    if (stops_needed(i, columns_of(looks, 1U << i, aim.clock).size()) < never)
      possible |= 1U << i;
    else
      plan.unreachable.push_back(i);
  }

  const std::uint32_t all = 1U << looks.size();
  std::vector<Cost> together(all);  // one kind of run that serves the whole mask
  for (std::uint32_t mask = 1; mask < all; ++mask) {
    if ((mask & ~possible) != 0) continue;
    const std::size_t columns = columns_of(looks, mask, aim.clock).size();
    int stops = 0;
    for (std::size_t i = 0; i < looks.size(); ++i)
      if ((mask >> i & 1U) != 0) stops = std::max(stops, stops_needed(i, columns));
    together[mask] = {stops, 1, mixes_axles(looks, mask) ? 1 : 0};
  }

  // best[mask]: the cheapest split of the mask into kinds; the kind that holds its lowest look is
  // tried in all forms.
  std::vector<Cost> best(all);
  std::vector<std::uint32_t> first_kind(all, 0);
  best[0] = {0, 0, 0};
  for (std::uint32_t mask = 1; mask < all; ++mask) {
    if ((mask & ~possible) != 0) continue;
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

  for (std::uint32_t mask = possible; mask != 0; mask &= ~first_kind[mask]) {
    const std::uint32_t kind = first_kind[mask];
    RunKind run;
    for (std::size_t i = 0; i < looks.size(); ++i)
      if ((kind >> i & 1U) != 0) run.looks.push_back(i);
    run.columns = columns_of(looks, kind, aim.clock);
    run.interval_s = recorder.interval_s(static_cast<int>(run.columns.size())).value_or(0.0);
    run.stops = together[kind].stops;
    plan.runs.push_back(std::move(run));
  }

  // Too many: take stops from the kind that has most until the session holds them.
  plan.reached = plan.unreachable.empty() && plan.stops() <= aim.most_stops;
  while (plan.stops() > aim.most_stops) {
    const auto most =
        std::max_element(plan.runs.begin(), plan.runs.end(),
                         [](const RunKind& a, const RunKind& b) { return a.stops < b.stops; });
    --most->stops;
  }
  std::erase_if(plan.runs, [](const RunKind& run) { return run.stops == 0; });
  for (const RunKind& run : plan.runs)
    for (const std::size_t i : run.looks)
      plan.chances[i] = look_chance(looks[i], run.interval_s, recorder.jitter, active_s, run.stops);
  return plan;
}

}  // namespace stopledger
