#include "log/gather.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>

namespace stopledger {

void Thinned::add(double value) {
  constexpr std::size_t most = 4096;
  if (seen_++ % stride_ != 0) return;
  values_.push_back(value);
  if (values_.size() < most) return;
  for (std::size_t i = 0; 2 * i < values_.size(); ++i) values_[i] = values_[2 * i];
  values_.resize(values_.size() / 2);
  stride_ *= 2;
}

double Thinned::typical() const {
  if (values_.empty()) return 0.0;
  auto sorted = values_;
  std::sort(sorted.begin(), sorted.end());
  const double middle = sorted[sorted.size() / 2];
  const auto close = std::count_if(sorted.begin(), sorted.end(), [&](double value) {
    return std::abs(value - middle) <= 0.15 * middle;
  });
  if (static_cast<std::size_t>(close) * 3 > sorted.size() * 2) return middle;
  const double limit = 5.0 * middle;
  double sum = 0.0;
  std::size_t n = 0;
  for (const double value : sorted)
    if (value <= limit) sum += value, ++n;
  return n == 0 ? 0.0 : sum / static_cast<double>(n);
}

namespace {

// Chosen: what consumers look at before and after an event.
constexpr int event_margin_s = 5;
// Chosen: ten a second show a quiet drive, 250 a second the shortest valve pulse (10 ms).
constexpr double first_quiet_step_s = 0.1;
constexpr double event_step_s = 0.004;
// Chosen: kept without thinning up to here (20 bytes each); quiet stretches are thinned again when
// they pass the second figure.
constexpr std::uint64_t keep_all_samples = 400'000;
constexpr std::uint64_t most_quiet_samples = 1'000'000;
// Chosen: harder than ordinary slowing for traffic, softer than any stop of an exercise.
constexpr double event_slowing_mps2 = 2.0;
constexpr double event_spin_up_mps2 = 4.0;
constexpr double event_pressure_kpa = 300.0;
constexpr double slope_over_s = 0.3;
// Log times beyond this are not marked one by one: everything there counts as an event.
constexpr double last_marked_s = 4.0e6;

}  // namespace

Gather::Gather(const Layout& layout, std::vector<std::size_t> columns)
    : layout_(layout),
      columns_(std::move(columns)),
      clock_(layout.time_form),
      quiet_step_s_(first_quiet_step_s),
      thin_limit_(most_quiet_samples) {
  tracks_.resize(columns_.size());
  cursors_.resize(columns_.size());
  defects_.bad_cells.resize(columns_.size());
  own_time_.resize(columns_.size());
  for (std::size_t k = 0; k < columns_.size(); ++k) {
    const auto time = layout.own_time[columns_[k]];
    const auto found = std::find(columns_.begin(), columns_.end(), time);
    if (time != layout.time_column && found != columns_.end())
      own_time_[k] = static_cast<std::size_t>(found - columns_.begin());
    const auto& column = layout.columns[columns_[k]];
    if (!column.wording.role) continue;
    auto& cursor = cursors_[k];
    const auto quantity = column.wording.role->quantity;
    const bool pulses =
        column.wording.pulses || (column.unit && column.unit->dimension == UnitDimension::count);
    if (pulses) {
      // A count's slope is no slowing.
    } else if (quantity == QuantityKind::wheel_speed || quantity == QuantityKind::vehicle_speed) {
      cursor.watch = Watch::speed;
      // Without a unit: km/h, the smallest of the readings' slopes but one; it only decides what
      // is kept in full.
      cursor.si_factor = column.unit && column.unit->dimension == UnitDimension::speed
                             ? column.unit->factor
                         : column.unit && column.unit->dimension == UnitDimension::angular_rate
                             ? 0.3 * column.unit->factor
                             : 1.0 / 3.6;
    } else if (quantity == QuantityKind::wheel_pressure ||
               quantity == QuantityKind::master_pressure) {
      cursor.watch = Watch::pressure;
      cursor.si_factor = column.unit ? column.unit->factor : 100.0;
    } else if (is_state(quantity) && quantity != QuantityKind::warning_lamp) {
      cursor.watch = Watch::state;
    }
  }
}

void Gather::mark_event(double t) {
  if (t < 0.0 || t > last_marked_s) return;
  const auto second = static_cast<std::size_t>(t);
  if (event_seconds_.size() <= second) event_seconds_.resize(second + 1, false);
  event_seconds_[second] = true;
}

bool Gather::near_event(double t) const {
  if (t > last_marked_s) return true;
  const auto second = static_cast<std::ptrdiff_t>(t);
  const auto size = static_cast<std::ptrdiff_t>(event_seconds_.size());
  const auto from = std::max<std::ptrdiff_t>(0, second - event_margin_s);
  const auto to = std::min(size, second + event_margin_s + 1);
  for (auto i = from; i < to; ++i)
    if (event_seconds_[static_cast<std::size_t>(i)]) return true;
  return false;
}

void Gather::run_clock(Pending& rows, std::size_t first_line) {
  auto& block = rows.block;
  rows.t.clear();
  rows.segment_begins.clear();
  std::vector<std::size_t> kept;  // rows left when some are skipped
  bool skipped = false;
  for (std::size_t r = 0; r < block.rows; ++r) {
    const auto before = rows_ == 0 && rows.t.empty() ? std::size_t{0} : clock_.segment() + 1;
    const auto next = r + 1 < block.rows ? std::optional(block.stamp[r + 1]) : std::nullopt;
    const auto t =
        layout_.time_is_row_number
            ? clock_.row(static_cast<double>(rows_ + rows.t.size()) * layout_.time_factor, {}, 0)
            : clock_.row(block.stamp[r], next, first_line + block.line[r]);
    if (!t) {
      if (!skipped) {
        skipped = true;
        for (std::size_t i = 0; i < r; ++i) kept.push_back(i);
      }
      ++rows_skipped_;
      continue;
    }
    if (skipped) kept.push_back(r);
    if (clock_.segment() + 1 != before)
      rows.segment_begins.push_back(rows.t.size());
    else
      row_spacing_.add(*t - last_row_t_);
    last_row_t_ = *t;
    rows.t.push_back(*t);
  }
  if (skipped) {
    for (std::size_t i = 0; i < kept.size(); ++i) {
      block.stamp[i] = block.stamp[kept[i]];
      for (auto& column : block.values) column[i] = column[kept[i]];
    }
    block.rows = kept.size();
  }
  rows_ += block.rows;
}

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
  if (!log && track.many_levels && cursor.watch != Watch::state && cursor.has_last) {
    // Only range and counts are left to learn of a number like this. NaN compares as false.
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

void Gather::scan(std::size_t k, Pending& rows) {
  auto& track = tracks_[k];
  auto& cursor = cursors_[k];
  rows.first_cell[k] = track.cells;
  rows.changes[k] = 0;
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

void Gather::append(std::size_t k, const Pending& rows, std::size_t row, std::uint64_t cell) {
  auto& track = tracks_[k];
  auto& cursor = cursors_[k];
  double t = rows.t[row];
  if (own_time_[k]) {
    const double stamp = rows.block.values[*own_time_[k]][row] * layout_.time_factor;
    if (std::isnan(stamp)) return;
    t = std::max(cursor.has_kept ? cursor.kept_t : 0.0, t + stamp - rows.block.stamp[row]);
  }
  if (track.t.size() == track.t.capacity()) {
    // A quarter more, not twice as much: there are many tracks.
    const std::size_t room = track.t.size() + track.t.size() / 4 + 1024;
    track.t.reserve(room);
    track.value.reserve(room);
    track.cell.reserve(room);
  }
  track.t.push_back(t);
  track.value.push_back(rows.block.values[k][row]);
  track.cell.push_back(static_cast<std::uint32_t>(cell));
  cursor.kept_t = t;
  cursor.has_kept = true;
  ++kept_;
}

void Gather::store_all(std::size_t k, const Pending& rows) {
  auto& track = tracks_[k];
  std::uint64_t cell = rows.first_cell[k];
  std::size_t segment = 0;
  for (std::size_t r = 0; r < rows.t.size(); ++r) {
    if (segment < rows.segment_begins.size() && rows.segment_begins[segment] == r) {
      track.segment_starts.push_back(static_cast<std::uint32_t>(track.t.size()));
      ++segment;
    }
    if (!std::isnan(rows.block.values[k][r])) append(k, rows, r, cell++);
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
  double second = -1.0;
  double step = 0.0;
  for (std::size_t r = 0; r < rows.t.size(); ++r) {
    const double t = rows.t[r];
    if (std::floor(t) != second) {
      second = std::floor(t);
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

void Gather::add(RowBlock& block, std::size_t first_line) {
  merge_defects(block, first_line);
  Pending rows;
  if (!spare_.empty()) {
    rows = std::move(spare_.back());
    spare_.pop_back();
  }
  std::swap(rows.block, block);
  rows.first_cell.resize(tracks_.size());
  rows.changes.resize(tracks_.size());
  run_clock(rows, first_line);
  for (std::size_t k = 0; k < tracks_.size(); ++k) scan(k, rows);
  if (rows.t.empty()) return;
  const double now = rows.t.back();
  pending_.push_back(std::move(rows));
  // Rows wait until the seconds after them are known; a few wait at most, or memory would not stay.
  constexpr std::size_t most_waiting = 24;
  while (pending_.size() > 1 &&
         (pending_.front().t.back() < now - event_margin_s - 1 || pending_.size() > most_waiting)) {
    store(pending_.front());
    spare_.push_back(std::move(pending_.front()));
    pending_.pop_front();
  }
}

void Gather::merge_defects(const RowBlock& block, std::size_t first_line) {
  const auto merge = [&](BlockDefects::Count& into, const BlockDefects::Count& from) {
    if (from.count == 0) return;
    if (into.count == 0) into.line = first_line + from.line;
    into.count += from.count;
  };
  const auto& d = block.defects;
  merge(defects_.no_time, d.no_time);
  merge(defects_.too_long, d.too_long);
  merge(defects_.too_short, d.too_short);
  merge(defects_.header_again, d.header_again);
  merge(defects_.not_understood, d.not_understood);
  merge(defects_.second_table, d.second_table);
  merge(defects_.cut_last, d.cut_last);
  for (std::size_t k = 0; k < tracks_.size(); ++k) merge(defects_.bad_cells[k], d.bad_cells[k]);
}

void Gather::finish(Log& log) {
  for (auto& rows : pending_) store(rows);
  pending_.clear();
  spare_.clear();
  const auto add = [&](const BlockDefects::Count& c, const std::string& one,
                       const std::string& many) {
    if (c.count > 0)
      log.defects.push_back(
          {c.line, c.count, c.count == 1 ? one : fmt::format("{} {}", c.count, many)});
  };
  add(defects_.no_time, "1 row without a time stamp; skipped",
      "rows without a time stamp; skipped");
  add(defects_.not_understood, "1 line that is no row; skipped", "lines that are no rows; skipped");
  add(defects_.too_long, "1 row with more cells than the header names; skipped",
      "rows with more cells than the header names (a delimiter inside a cell?); skipped");
  add(defects_.too_short, "1 row with too few cells; the missing ones count as empty",
      "rows with too few cells; the missing ones count as empty");
  add(defects_.header_again, "the header is repeated", "times the header is repeated");
  add(defects_.cut_last, "the last line is cut short; skipped", "lines are cut short; skipped");
  add(defects_.second_table, "a second table begins here; it is not read (split the file)",
      "more tables begin; they are not read (split the file)");
  for (std::size_t k = 0; k < tracks_.size(); ++k) {
    const auto& header = layout_.columns[columns_[k]].header;
    add(defects_.bad_cells[k],
        fmt::format("1 cell of column \"{}\" is neither number nor state", header),
        fmt::format("cells of column \"{}\" are neither numbers nor states", header));
  }
  clock_.finish(log);
  log.rows = rows_;
  log.rows_skipped = rows_skipped_ + defects_.no_time.count + defects_.too_long.count +
                     defects_.not_understood.count + defects_.cut_last.count;
}

}  // namespace stopledger
