#include "log/rates.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <utility>

namespace stopledger {
namespace {

/// Cells from one renewal to the next when the recorder reads one column after the other and
/// repeats the rest: the number of data columns. Shown by big jumps that no other moving column
/// shares: wheels of one car slow down together, so in rows read as a whole their jumps coincide.
std::optional<double> turn_length(const Layout& layout, Gather& gather) {
  constexpr std::size_t longest = 20000;  // a longer log shows each column's own period
  const auto& tracks = gather.tracks();
  if (gather.rows() > longest) return std::nullopt;
  std::map<std::uint64_t, std::pair<int, bool>> rows;  // columns changed, and whether by a big jump
  int moving = 0;
  for (std::size_t k = 0; k < tracks.size(); ++k) {
    const auto& role = layout.columns[gather.columns()[k]].wording.role;
    if (!role || is_state(role->quantity) || tracks[k].cells * 10 < gather.rows() * 9) continue;
    std::vector<double> jumps;
    for (const auto run : tracks[k].changes.runs())
      for (const Change& change : run) jumps.push_back(std::abs(change.jump));
    if (jumps.size() < 3) continue;
    ++moving;
    const double usual = median_of(jumps);
    const std::uint64_t late = gather.rows() - tracks[k].cells;  // rows before its first cell
    for (const auto run : tracks[k].changes.runs())
      for (const Change& change : run) {
        auto& [count, big] = rows[change.cell + late];
        ++count;
        // The big ones: what moves the car, not what flickers.
        big = big || std::abs(change.jump) >= usual;
      }
  }
  std::size_t alone = 0, shared = 0;
  for (const auto& [row, changed] : rows)
    if (changed.second) ++(changed.first == 1 ? alone : shared);
  if (moving < 2 || alone < 6 || shared * 20 > alone) return std::nullopt;
  return static_cast<double>(layout.columns.size() - 1);
}

}  // namespace

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

std::vector<TrackRate> find_rates(const Layout& layout, Gather& gather) {
  const auto& tracks = gather.tracks();
  std::vector<TrackRate> rates(tracks.size());
  std::vector<double> wheel_periods, numeric_periods, state_periods;
  for (std::size_t k = 0; k < tracks.size(); ++k) {
    auto& rate = rates[k];
    const auto& wording = layout.columns[gather.columns()[k]].wording;
    if (!wording.role) continue;
    rate.evidence = judge_updates(tracks[k].changes);
    rate.sparse = tracks[k].cells * 10 < gather.rows() * 9;
    if (rate.sparse) continue;
    if (!rate.evidence.period) continue;
    rate.proven = true;
    rate.period = *rate.evidence.period;
    if (is_state(wording.role->quantity))
      state_periods.push_back(rate.period);
    else
      numeric_periods.push_back(rate.period);
    if (wording.role->quantity == QuantityKind::wheel_speed) wheel_periods.push_back(rate.period);
  }
  // Only where no column shows a period of its own: a short log, or one in which little moves.
  const bool shown = !numeric_periods.empty() && median_of(numeric_periods) >= 1.2;
  if (const auto turn = shown ? std::nullopt : turn_length(layout, gather))
    for (std::size_t k = 0; k < tracks.size(); ++k) {
      auto& rate = rates[k];
      if (rate.sparse || (rate.proven && rate.period > 1.5)) continue;
      rate.proven = true;
      rate.period = *turn;
      if (rate.evidence.at_most) rate.period = std::min(rate.period, *rate.evidence.at_most);
    }
  // Wheel speeds come from the same control unit as the valves; they are the best companions.
  const auto& companions = !wheel_periods.empty() ? wheel_periods : numeric_periods;
  for (std::size_t k = 0; k < tracks.size(); ++k) {
    auto& rate = rates[k];
    const auto& wording = layout.columns[gather.columns()[k]].wording;
    if (rate.proven || rate.sparse || !wording.role) continue;
    const bool state = is_state(wording.role->quantity);
    if (state && !state_periods.empty())
      rate.period = median_of(state_periods);
    else if (!companions.empty())
      rate.period = median_of(companions);
    if (rate.evidence.at_most) rate.period = std::min(rate.period, *rate.evidence.at_most);
  }
  return rates;
}

std::vector<std::size_t> fresh_samples(const Track& track, double period) {
  std::vector<std::size_t> fresh;
  const std::size_t n = track.t.size();
  if (period < 1.2) {
    fresh.resize(n);
    for (std::size_t i = 0; i < n; ++i) fresh[i] = i;
    return fresh;
  }
  for (std::size_t s = 0; s < track.segment_starts.size(); ++s) {
    const std::size_t begin = track.segment_starts[s];
    const std::size_t end = s + 1 < track.segment_starts.size() ? track.segment_starts[s + 1] : n;
    const auto next_change = [&](std::size_t from) {
      while (from < end && (from == begin || track.value[from] == track.value[from - 1])) ++from;
      return from;
    };
    std::size_t change = next_change(begin);
    const double first = track.cell[begin];
    double target = first;
    if (change < end) target = first + std::fmod(track.cell[change] - first, period);
    for (std::size_t i = begin; i < end; ++i) {
      const double cell = track.cell[i];
      if (i == change) {
        fresh.push_back(i);
        target = cell + period;
        change = next_change(i + 1);
      } else if (cell + 0.5 > target) {
        // A change just ahead is this renewal, a little late.
        if (change < end && track.cell[change] - cell < 0.75 * period) continue;
        fresh.push_back(i);
        target += period * std::max(1.0, std::floor((cell + 0.5 - target) / period) + 1.0);
      }
    }
  }
  return fresh;
}

}  // namespace stopledger
