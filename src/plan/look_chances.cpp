#include "plan/look_chances.h"

#include <algorithm>
#include <array>
#include <numeric>

#include "signal/catch.h"

namespace stopledger {
namespace {

constexpr int search_limit = 60;  // stops of one kind; five sessions' worth, then "cannot"

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

// Over one draw: stops of some kinds, each so many times.
double enough_seen(const Look& look, std::span<const std::pair<const Seen*, int>> parts) {
  Seen seen(static_cast<std::size_t>(look.needed), 0.0);
  seen[0] = 1.0;
  for (const auto& [stop, count] : parts) add_stops(seen, *stop, count);
  return 1.0 - std::accumulate(seen.begin(), seen.end(), 0.0);
}

}  // namespace

double look_ceiling(const Look& look) {
  if (look.draws.empty()) return 0.0;
  const auto some = std::count_if(look.draws.begin(), look.draws.end(),
                                  [](const Pulses& pulses) { return !pulses.empty(); });
  return static_cast<double>(some) / static_cast<double>(look.draws.size());
}

double look_chance(const Look& look, const Recorder& recorder, int columns, int stops) {
  const auto interval = recorder.interval_s(columns);
  if (!interval || *interval * look.least_rate_hz > 1.0 || stops < look.least_stops ||
      look.draws.empty())
    return 0.0;
  double caught = 0.0;
  for (const Pulses& pulses : look.draws) {
    const Seen stop = one_stop(look, pulses, *interval, recorder.jitter);
    caught += enough_seen(look, std::array{std::pair{&stop, stops}});
  }
  return caught / static_cast<double>(look.draws.size());
}

LookChances::LookChances(std::span<const Look> looks, const Recorder& recorder,
                         const RecordingAim& aim)
    : looks_(looks), recorder_(recorder), clock_(aim.clock), known_(looks.size()) {
  for (const Look& look : looks) {
    const double ceiling = look_ceiling(look);
    aims_.push_back(aim.of_those_that_do || ceiling <= aim.chance ? aim.chance * ceiling
                                                                  : aim.chance);
  }
}

std::vector<Role> LookChances::columns(std::uint32_t mask) const {
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

std::optional<double> LookChances::interval_s(std::uint32_t mask) const {
  return recorder_.interval_s(static_cast<int>(columns(mask).size()));
}

double LookChances::chance(std::size_t look, const Kinds& kinds) {
  std::vector<std::pair<const std::vector<Seen>*, int>> parts;
  int stops = 0;
  for (const auto& [mask, count] : kinds) {
    if ((mask >> look & 1U) == 0 || count <= 0) continue;
    if (const auto* seen = stop_of(look, mask); !seen->empty()) {
      parts.emplace_back(seen, count);
      stops += count;
    }
  }
  if (stops == 0 || stops < looks_[look].least_stops) return 0.0;
  double caught = 0.0;
  const std::size_t draws = parts.front().first->size();
  std::vector<std::pair<const Seen*, int>> of_draw(parts.size());
  for (std::size_t d = 0; d < draws; ++d) {
    for (std::size_t i = 0; i < parts.size(); ++i)
      of_draw[i] = {&(*parts[i].first)[d], parts[i].second};
    caught += enough_seen(looks_[look], of_draw);
  }
  return caught / static_cast<double>(draws);
}

bool LookChances::holds(std::uint32_t mask, const Kinds& kinds) {
  for (std::size_t i = 0; i < looks_.size(); ++i)
    if ((mask >> i & 1U) != 0 && chance(i, kinds) < aims_[i]) return false;
  return true;
}

int LookChances::stops_needed(std::size_t look, std::uint32_t mask) {
  const std::size_t width = columns(mask).size();
  if (aims_[look] <= 0.0) return never;
  const auto [entry, fresh] = needed_.try_emplace({look, width}, never);
  if (!fresh) return entry->second;
  int high = 1;
  while (high < search_limit && chance(look, {{mask, high}}) < aims_[look]) high *= 2;
  high = std::min(high, search_limit);
  if (chance(look, {{mask, high}}) < aims_[look]) return never;
  int low = high / 2;  // known to be too few
  while (high - low > 1) {
    const int middle = (low + high) / 2;
    (chance(look, {{mask, middle}}) < aims_[look] ? low : high) = middle;
  }
  return entry->second = high;
}

bool LookChances::mixes_axles(std::uint32_t mask) const {
  bool front = false, rear = false;
  for (std::size_t i = 0; i < looks_.size(); ++i)
    if ((mask >> i & 1U) != 0)
      for (const Corner corner : looks_[i].corners) (is_front(corner) ? front : rear) = true;
  return front && rear;
}

// What one stop shows of a look, per draw; it depends on how many columns share the recorder, not
// on which. Empty when this is too slow for the look, or too many columns.
const std::vector<LookChances::Seen>* LookChances::stop_of(std::size_t look, std::uint32_t mask) {
  const auto [entry, fresh] = known_[look].try_emplace(columns(mask).size());
  const auto interval = interval_s(mask);
  const Look& wanted = looks_[look];
  if (fresh && interval && *interval * wanted.least_rate_hz <= 1.0)
    for (const Pulses& pulses : wanted.draws)
      entry->second.push_back(one_stop(wanted, pulses, *interval, recorder_.jitter));
  return &entry->second;
}

}  // namespace stopledger
