#include "log/rates.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <set>
#include <vector>

namespace stopledger {
namespace {

/// Cells are blank between renewals, not only before the first one.
bool is_sparse(const Gather& gather, const Track& track) {
  return track.cells * 10 < gather.rows() * 9 &&
         track.spacing_s.typical() > 1.5 * gather.row_spacing();
}

/// Rows before the first cell of a track that is filled from then on.
std::uint64_t rows_before(const Gather& gather, const Track& track) {
  return gather.rows() - track.cells;
}

/// Whether columns change only in their own turn of `turns`: all changes of one column on one
/// remainder, another for each column. Either the first cells come one row after the other as well
/// (before the first round is through there is nothing to repeat), or there are so many changes
/// that chance cannot explain it. A steady rhythm of the thing itself would do that too: then the
/// spacings must vary, in more than one column.
bool change_in_turn(const Layout& layout, Gather& gather, std::size_t turns) {
  constexpr std::size_t fewest_spacings = 3;
  const auto& tracks = gather.tracks();
  std::set<std::size_t> taken;
  std::set<std::uint64_t> spacings, first_rows;
  std::size_t changes = 0, columns = 0, columns_changed = 0;
  bool staggered = false;
  for (const auto& track : tracks) {
    if (is_sparse(gather, track)) return false;
    first_rows.insert(rows_before(gather, track));
  }
  staggered =
      tracks.size() >= 3 && first_rows.size() == tracks.size() && *first_rows.rbegin() < turns;
  for (std::size_t k = 0; k < tracks.size(); ++k) {
    if (!layout.columns[gather.columns()[k]].wording.role) continue;
    const auto late = rows_before(gather, tracks[k]);
    std::optional<std::size_t> own;
    if (staggered) own = late % turns;
    const auto before_count = changes;
    for (const auto run : tracks[k].changes.runs()) {
      std::uint64_t before = 0;
      for (const Change& change : run) {
        const auto row = change.cell + late;
        if (!own) own = row % turns;
        if (row % turns != *own) return false;
        if (before > 0) spacings.insert(row - before);
        before = row;
        ++changes;
      }
    }
    if (own && !taken.insert(*own).second) return false;
    columns += own ? 1 : 0;
    columns_changed += changes > before_count ? 1 : 0;
  }
  if (staggered) return changes > 0;
  // The first change of a column only tells which turn is its own. By chance once in a thousand.
  return columns_changed >= 2 && spacings.size() >= fewest_spacings &&
         static_cast<double>(changes - columns) * std::log(static_cast<double>(turns)) >
             std::log(1e3);
}

/// Cells from one renewal to the next when the recorder reads one column after the other and
/// repeats the rest: the number of data columns. Shown by big jumps that no other moving column
/// shares: wheels of one car slow down together, so in rows read as a whole their jumps coincide.
/// Where too little moves for that, by the turns in which columns change.
std::optional<double> turn_length(const Layout& layout, Gather& gather) {
  constexpr std::size_t longest = 20000;  // a longer log shows each column's own period
  const auto& tracks = gather.tracks();
  if (gather.rows() > longest) return std::nullopt;
  const std::size_t turns = layout.columns.size() - 1;
  if (turns >= 2 && change_in_turn(layout, gather, turns)) return static_cast<double>(turns);
  struct RowChanges {
    std::uint32_t columns = 0;  // that changed
    bool big = false;           // one of them by a big jump
  };
  std::vector<RowChanges> rows(gather.rows());
  int moving = 0;
  for (std::size_t k = 0; k < tracks.size(); ++k) {
    const auto& role = layout.columns[gather.columns()[k]].wording.role;
    if (!role || is_state(role->quantity) || is_sparse(gather, tracks[k])) continue;
    std::vector<double> jumps;
    for (const auto run : tracks[k].changes.runs())
      for (const Change& change : run) jumps.push_back(std::abs(change.jump));
    if (jumps.size() < 3) continue;
    ++moving;
    const double usual = median_of(jumps);
    const std::uint64_t late = rows_before(gather, tracks[k]);
    for (const auto run : tracks[k].changes.runs())
      for (const Change& change : run) {
        auto& row = rows[change.cell + late];
        ++row.columns;
        // The big ones: what moves the car, not what flickers.
        row.big = row.big || std::abs(change.jump) >= usual;
      }
  }
  std::size_t alone = 0, shared = 0;
  for (const auto& row : rows)
    if (row.big) ++(row.columns == 1 ? alone : shared);
  if (moving < 2 || alone < 6 || shared * 20 > alone) return std::nullopt;
  return static_cast<double>(turns);
}

void mark_edges_only(const Layout& layout, Gather& gather, std::vector<TrackRate>& rates) {
  const auto role = [&](std::size_t k) { return layout.columns[gather.columns()[k]].wording.role; };
  std::vector<double> numbers, wheels;
  for (std::size_t k = 0; k < rates.size(); ++k) {
    if (!role(k) || !rates[k].proven || is_state(role(k)->quantity)) continue;
    numbers.push_back(rates[k].period);
    if (role(k)->quantity == QuantityKind::wheel_speed) wheels.push_back(rates[k].period);
  }
  if (numbers.empty()) return;
  const double usual = median_of(wheels.empty() ? numbers : wheels);
  for (std::size_t k = 0; k < rates.size(); ++k)
    rates[k].edges_only =
        !rates[k].sparse && role(k) && is_state(role(k)->quantity) && rates[k].period > 1.2 * usual;
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
    rate.sparse = is_sparse(gather, tracks[k]);
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
  mark_edges_only(layout, gather, rates);
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
