#include "log/gather.h"

#include <fmt/format.h>

#include <algorithm>

namespace stopledger {
namespace {

// Chosen: what consumers look at before and after an event.
constexpr int event_margin_s = 5;
// Log times beyond this are not marked one by one: everything there counts as an event.
constexpr double last_marked_s = 4.0e6;

}  // namespace

Gather::Gather(const Layout& layout, std::vector<std::size_t> columns)
    : layout_(layout), columns_(std::move(columns)), clock_(layout.time_form) {
  tracks_.resize(columns_.size());
  cursors_.resize(columns_.size());
  defects_.bad_cells.resize(columns_.size());
  defects_.bad_example.resize(columns_.size());
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
  rows.t.reserve(block.rows);
  rows.segment_begins.clear();
  std::vector<std::size_t> kept;  // rows left when some are skipped
  bool skipped = false;
  for (std::size_t r = 0; r < block.rows; ++r) {
    if (double t = 0.0;
        !skipped && !layout_.time_is_row_number && clock_.ordinary_row(block.stamp[r], t)) {
      row_spacing_.add(t - last_row_t_);
      last_row_t_ = t;
      rows.t.push_back(t);
      continue;
    }
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
      block.line[i] = block.line[kept[i]];
      for (auto& column : block.values) column[i] = column[kept[i]];
    }
    block.rows = kept.size();
  }
  rows_ += block.rows;
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
  rows.first_line = first_line;
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
  for (std::size_t k = 0; k < tracks_.size(); ++k) {
    if (defects_.bad_cells[k].count == 0) defects_.bad_example[k] = d.bad_example[k];
    merge(defects_.bad_cells[k], d.bad_cells[k]);
  }
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
    const auto& role = layout_.columns[columns_[k]].wording.role;
    const auto what_to_do = role && is_state(role->quantity) && tracks_[k].cells == 0
                                ? "; the word for on can be given in a channel map (on = ...)"
                                : "";
    add(defects_.bad_cells[k],
        fmt::format("1 cell of column \"{}\" is neither number nor state: \"{}\"{}", header,
                    defects_.bad_example[k], what_to_do),
        fmt::format("cells of column \"{}\" are neither numbers nor states, as \"{}\"{}", header,
                    defects_.bad_example[k], what_to_do));
  }
  clock_.finish(log);
  log.rows = rows_;
  log.rows_skipped = rows_skipped_ + defects_.no_time.count + defects_.too_long.count +
                     defects_.not_understood.count + defects_.cut_last.count;
}

}  // namespace stopledger
