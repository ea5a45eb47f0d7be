// Which samples Gather keeps: all while there are few, then those in events and some between.
#include <algorithm>
#include <cmath>
#include <numeric>
#include <span>

#include "log/gather.h"

namespace stopledger {
namespace {

// Chosen: 250 a second show the shortest valve pulse (10 ms).
constexpr double event_step_s = 0.004;
// Chosen: kept without thinning up to here.
constexpr std::uint64_t keep_all_samples = 400'000;

/// Room for so many samples more.
void make_room(Track& track, std::size_t more) {
  const std::size_t size = track.t.size();
  if (size + more <= track.t.capacity()) return;
  // A quarter more, not twice as much: there are many tracks.
  const std::size_t room = size == 0 ? more : std::max(size + more, size + size / 4 + 1024);
  track.t.reserve(room);
  track.value.reserve(room);
  track.cell.reserve(room);
}

}  // namespace

void Gather::append(std::size_t k, const Pending& rows, std::size_t row, std::uint64_t cell) {
  auto& track = tracks_[k];
  auto& cursor = cursors_[k];
  double t = rows.t[row];
  if (own_time_[k]) {
    const double stamp = rows.block.values[*own_time_[k]][row] * layout_.time_factor;
    if (std::isnan(stamp)) return;
    t = std::max(cursor.has_kept ? cursor.kept_t : 0.0, t + stamp - rows.block.stamp[row]);
  }
  make_room(track, 1);
  track.t.push_back(t);
  track.value.push_back(rows.block.values[k][row]);
  track.cell.push_back(static_cast<std::uint32_t>(cell));
  cursor.kept_t = t;
  cursor.has_kept = true;
  ++kept_;
}

void Gather::store_all(std::size_t k, const Pending& rows) {
  auto& track = tracks_[k];
  const std::size_t n = rows.t.size();
  const auto values = std::span(rows.block.values[k]).first(n);
  std::uint64_t cell = rows.first_cell[k];
  make_room(track, n);
  const bool blank = std::any_of(values.begin(), values.end(), [](double v) { return v != v; });
  if (!blank && !own_time_[k]) {
    const std::size_t before = track.t.size();
    for (const auto begin : rows.segment_begins)
      track.segment_starts.push_back(static_cast<std::uint32_t>(before + begin));
    track.t.insert(track.t.end(), rows.t.begin(), rows.t.end());
    track.value.insert(track.value.end(), values.begin(), values.end());
    track.cell.resize(before + n);
    std::iota(track.cell.begin() + static_cast<std::ptrdiff_t>(before), track.cell.end(),
              static_cast<std::uint32_t>(cell));
    kept_ += n;
    return;
  }
  std::size_t segment = 0;
  for (std::size_t r = 0; r < n; ++r) {
    if (segment < rows.segment_begins.size() && rows.segment_begins[segment] == r) {
      track.segment_starts.push_back(static_cast<std::uint32_t>(track.t.size()));
      ++segment;
    }
    if (!std::isnan(values[r])) append(k, rows, r, cell++);
  }
}

void Gather::store_some(std::size_t k, const Pending& rows,
                        const std::vector<std::uint32_t>& grid) {
  auto& track = tracks_[k];
  track.thinned = true;
  const auto& values = rows.block.values[k];
  const bool dense = tracks_[k].cells == rows_ || rows.block.rows == 0;
  // A channel that changes seldom keeps its changes, and what stood before each of them.
  const bool keep_changes = cursors_[k].watch == Watch::state || rows.changes[k] <= 2 * grid.size();
  if (dense && (!keep_changes || rows.changes[k] == 0) && rows.segment_begins.empty()) {
    for (const auto r : grid) append(k, rows, r, rows.first_cell[k] + r);
    return;
  }
  std::uint64_t cell = rows.first_cell[k];
  std::size_t segment = 0, at = 0;
  std::optional<std::size_t> before;  // last filled row
  std::uint64_t before_cell = 0;
  bool before_kept = false, due = false;
  for (std::size_t r = 0; r < rows.t.size(); ++r) {
    const bool begins = segment < rows.segment_begins.size() && rows.segment_begins[segment] == r;
    if (begins) {
      track.segment_starts.push_back(static_cast<std::uint32_t>(track.t.size()));
      ++segment;
      before.reset();
    }
    for (; at < grid.size() && grid[at] <= r; ++at) due = true;
    if (std::isnan(values[r])) continue;
    const bool changed = before && values[r] != values[*before];
    const bool keep = due || begins || (keep_changes && (changed || !before));
    if (changed && keep_changes && !before_kept) append(k, rows, *before, before_cell);
    if (keep) append(k, rows, r, cell);
    due = due && !keep;
    before = r;
    before_cell = cell++;
    before_kept = keep;
  }
}

void Gather::store(Pending& rows) {
  if (kept_ + rows.block.rows * tracks_.size() <= keep_all_samples) {
    for (std::size_t k = 0; k < tracks_.size(); ++k) store_all(k, rows);
    return;
  }
  // Rows to keep of every column: close together in events, apart elsewhere.
  std::vector<std::uint32_t> grid;
  double kept_t = -1e9;
  double second = -1.0, next_second = -1.0;
  double step = 0.0;
  for (std::size_t r = 0; r < rows.t.size(); ++r) {
    const double t = rows.t[r];
    if (t < second || t >= next_second) {
      second = std::floor(t);
      next_second = second + 1.0;
      step = near_event(t) ? event_step_s : quiet_step_s_;
    }
    // A little less than the step, or rows that are nearly that far apart would be halved.
    if (t - kept_t < 0.95 * step && t >= kept_t) continue;
    grid.push_back(static_cast<std::uint32_t>(r));
    kept_t = t;
  }
  for (std::size_t k = 0; k < tracks_.size(); ++k) store_some(k, rows, grid);
  if (kept_ > thin_limit_) thin_again();
}

void Gather::thin_again() {
  // Twice the quiet step, until it frees something or nothing quiet is left.
  quiet_step_s_ *= 2.0;
  kept_ = 0;
  for (std::size_t k = 0; k < tracks_.size(); ++k) {
    auto& track = tracks_[k];
    const bool state = cursors_[k].watch == Watch::state;
    std::size_t out = 0, segment = 0;
    double kept_t = -1e9, last_value = 0.0;
    for (std::size_t i = 0; i < track.t.size(); ++i) {
      const bool begins =
          segment < track.segment_starts.size() && track.segment_starts[segment] == i;
      if (begins) track.segment_starts[segment++] = static_cast<std::uint32_t>(out);
      const bool changes_next =
          state && i + 1 < track.t.size() && track.value[i + 1] != track.value[i];
      const bool changed = state && i > 0 && track.value[i] != last_value;
      last_value = track.value[i];
      const double t = track.t[i];
      if (!begins && !changed && !changes_next && t - kept_t < 0.95 * quiet_step_s_ &&
          !near_event(t))
        continue;
      track.t[out] = t;
      track.value[out] = track.value[i];
      track.cell[out] = track.cell[i];
      ++out;
      kept_t = t;
    }
    track.t.resize(out);
    track.value.resize(out);
    track.cell.resize(out);
    kept_ += out;
  }
  // Events alone fill the memory: what is left must be kept, and is not looked at again soon.
  thin_limit_ = std::max(most_quiet_samples, kept_ + kept_ / 2);
}

}  // namespace stopledger
