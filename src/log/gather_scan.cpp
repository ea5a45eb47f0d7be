// What Gather learns of a column row by row: counts, range, levels, changes, events.
#include <algorithm>
#include <cmath>
#include <cstring>
#include <experimental/simd>
#include <span>

#include "log/gather.h"

namespace stopledger {
namespace {

// Chosen: harder than ordinary slowing for traffic, softer than any stop of an exercise.
constexpr double event_slowing_mps2 = 2.0;
constexpr double event_spin_up_mps2 = 4.0;
constexpr double event_pressure_kpa = 300.0;
constexpr double slope_over_s = 0.3;

/// For numbers without a gap or a word among them: widens the range, counts the changes from
/// `before` on. False, and nothing done, where there is anything else.
bool numbers_throughout(std::span<const double> values, double before, double& low, double& high,
                        std::uint32_t& changes) {
  using Lanes = std::experimental::native_simd<double>;
  constexpr auto as_it_lies = std::experimental::element_aligned;
  Lanes least(low), most(high), changed(0.0);
  Lanes::mask_type numbers(true);
  std::size_t i = 1;
  for (; i + Lanes::size() <= values.size(); i += Lanes::size()) {
    const Lanes here(values.data() + i, as_it_lies), above(values.data() + i - 1, as_it_lies);
    numbers = numbers && here < word_base;
    least = min(here, least);
    most = max(here, most);
    where(here != above, changed) += 1.0;
  }
  bool all = all_of(numbers) && values[0] < word_base;
  double sum = reduce(changed) + (values[0] != before ? 1.0 : 0.0);
  double smallest = std::min(hmin(least), values[0]), largest = std::max(hmax(most), values[0]);
  for (; i < values.size(); ++i) {
    all = all && values[i] < word_base;
    smallest = std::min(smallest, values[i]);
    largest = std::max(largest, values[i]);
    sum += values[i] != values[i - 1] ? 1.0 : 0.0;
  }
  if (!all) return false;
  low = smallest;
  high = largest;
  changes += static_cast<std::uint32_t>(sum);
  return true;
}

}  // namespace

void Gather::change(Track& track, Cursor& cursor, double t, double value, std::uint64_t cell,
                    bool log) {
  if (cursor.has_last) {
    if (log)
      track.changes.add(cell, is_word(value) || is_word(cursor.last) ? 1.0 : value - cursor.last);
    if (cursor.watch == Watch::state) mark_event(t);
  }
  if (is_word(value)) {
    track.words[static_cast<std::size_t>(word_of(value))] = true;
    return;
  }
  if (!track.any_number) track.min = track.max = value;
  track.any_number = true;
  track.min = std::min(track.min, value);
  track.max = std::max(track.max, value);
  if (track.many_levels ||
      std::find(track.levels.begin(), track.levels.end(), value) != track.levels.end())
    return;
  if (track.levels.size() == Track::most_levels)
    track.many_levels = true;
  else
    track.levels.push_back(value);
}

void Gather::scan_stretch(std::size_t k, Pending& rows, std::size_t begin, std::size_t end) {
  auto& track = tracks_[k];
  auto& cursor = cursors_[k];
  const double* const values = rows.block.values[k].data();
  const bool log = track.changes.wants_stretch();
  if (begin == end) return;
  // Most columns stand still most of the time.
  if (cursor.has_last && values[begin] == cursor.last &&
      std::memcmp(values + begin, values + begin + 1, (end - begin - 1) * sizeof(double)) == 0) {
    track.cells += end - begin;
    cursor.last_t = rows.t[end - 1];
    return;
  }
  std::size_t missing = 0;
  std::uint32_t changes = 0;
  // Only range and counts are left to learn of a number like this. NaN compares as false.
  const bool known = !log && track.many_levels && cursor.watch != Watch::state && cursor.has_last;
  if (known && numbers_throughout({values + begin, end - begin}, cursor.last, track.min, track.max,
                                  changes)) {
    cursor.last = values[end - 1];
  } else if (known) {
    double last = cursor.last, low = track.min, high = track.max;
    for (std::size_t r = begin; r < end; ++r) {
      const double value = values[r];
      low = value < low ? value : low;
      high = value > high && value < word_base ? value : high;
      const bool filled = value == value;
      missing += filled ? 0 : 1;
      changes += filled && value != last ? 1 : 0;
      last = filled ? value : last;
    }
    cursor.last = last;
    track.min = low;
    track.max = high;
  } else {
    for (std::size_t r = begin; r < end; ++r) {
      const double value = values[r];
      if (value == cursor.last && cursor.has_last) continue;
      if (std::isnan(value)) {
        ++missing;
        continue;
      }
      change(track, cursor, rows.t[r], value, track.cells + (r - begin) - missing, log);
      cursor.last = value;
      cursor.has_last = true;
      ++changes;
    }
  }
  rows.changes[k] += changes;
  if (missing > 0)
    for (std::size_t r = begin; r < end; ++r) {
      if (std::isnan(values[r])) continue;
      if (cursor.last_t >= 0.0) track.spacing_s.add(rows.t[r] - cursor.last_t);
      cursor.last_t = rows.t[r];
    }
  else if (end > begin)
    cursor.last_t = rows.t[end - 1];
  track.cells += (end - begin) - missing;
}

/// Remembers where a new lowest or highest number stands.
void Gather::place_extremes(std::size_t k, const Pending& rows, bool low, bool high) {
  auto& track = tracks_[k];
  const auto& values = rows.block.values[k];
  const auto line_of = [&](double value) {
    const auto end = values.begin() + static_cast<std::ptrdiff_t>(rows.t.size());
    const auto row =
        static_cast<std::size_t>(std::find(values.begin(), end, value) - values.begin());
    return rows.first_line + (row < rows.t.size() ? rows.block.line[row] : 0);
  };
  if (low) track.min_line = line_of(track.min);
  if (high) track.max_line = line_of(track.max);
}

void Gather::scan(std::size_t k, Pending& rows) {
  auto& track = tracks_[k];
  auto& cursor = cursors_[k];
  rows.first_cell[k] = track.cells;
  rows.changes[k] = 0;
  const bool had_any = track.any_number;
  const double low = track.min, high = track.max;
  std::size_t begin = 0;
  for (const auto start : rows.segment_begins) {
    scan_stretch(k, rows, begin, start);
    track.changes.cut();
    cursor.has_last = false;
    cursor.last_t = -1.0;
    cursor.has_ref = false;
    begin = start;
  }
  scan_stretch(k, rows, begin, rows.t.size());
  if (track.any_number)
    place_extremes(k, rows, !had_any || track.min < low, !had_any || track.max > high);
  if (cursor.watch == Watch::speed || cursor.watch == Watch::pressure) watch_slope(k, rows);
}

void Gather::watch_slope(std::size_t k, const Pending& rows) {
  auto& cursor = cursors_[k];
  const auto& values = rows.block.values[k];
  std::size_t stride = 1;
  if (rows.t.size() > 1) {
    const double step = (rows.t.back() - rows.t.front()) / static_cast<double>(rows.t.size() - 1);
    if (step > 0.0)
      stride = static_cast<std::size_t>(std::clamp(0.25 * slope_over_s / step, 1.0, 1e4));
  }
  for (std::size_t r = 0; r < rows.t.size(); r += stride) {
    if (std::isnan(values[r]) || is_word(values[r])) continue;
    const double dt = rows.t[r] - cursor.ref_t;
    if (cursor.has_ref && dt >= 0.0 && dt < slope_over_s) continue;
    if (cursor.has_ref && dt > 0.0 && dt < 10.0) {
      const double rise = (values[r] - cursor.ref_v) * cursor.si_factor;
      const bool event = cursor.watch == Watch::pressure
                             ? std::abs(rise) > event_pressure_kpa
                             : rise / dt < -event_slowing_mps2 || rise / dt > event_spin_up_mps2;
      if (event) {
        mark_event(cursor.ref_t);
        mark_event(rows.t[r]);
      }
    }
    cursor.has_ref = true;
    cursor.ref_t = rows.t[r];
    cursor.ref_v = values[r];
  }
}

}  // namespace stopledger
