#include "log/gather.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

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

Gather::Gather(const Layout& layout, std::vector<std::size_t> columns)
    : layout_(layout), columns_(std::move(columns)), clock_(layout.time_form) {
  tracks_.resize(columns_.size());
  defects_.bad_cells.resize(columns_.size());
  own_time_.resize(columns_.size());
  for (std::size_t k = 0; k < columns_.size(); ++k) {
    const auto time = layout.own_time[columns_[k]];
    const auto found = std::find(columns_.begin(), columns_.end(), time);
    if (time != layout.time_column && found != columns_.end())
      own_time_[k] = static_cast<std::size_t>(found - columns_.begin());
  }
}

void Gather::cell(Track& track, double t, double value, std::size_t segment) {
  if (!track.has_last || track.segment != segment) {
    track.segment_starts.push_back(static_cast<std::uint32_t>(track.t.size()));
    track.changes.cut();
  } else {
    track.spacing_s.add(t - track.last_t);
    if (value != track.last) {
      const double jump = is_word(value) || is_word(track.last) ? 1.0 : value - track.last;
      track.changes.add(track.cells, jump);
    }
  }
  if (is_word(value)) {
    ++track.words[static_cast<std::size_t>(word_of(value))];
  } else {
    if (track.numbers == 0) track.min = track.max = value;
    ++track.numbers;
    track.min = std::min(track.min, value);
    track.max = std::max(track.max, value);
    if (!track.many_levels && (!track.has_last || value != track.last) &&
        std::find(track.levels.begin(), track.levels.end(), value) == track.levels.end()) {
      if (track.levels.size() == Track::most_levels)
        track.many_levels = true;
      else
        track.levels.push_back(value);
    }
  }
  track.t.push_back(t);
  track.value.push_back(value);
  track.cell.push_back(static_cast<std::uint32_t>(track.cells));
  ++track.cells;
  track.last = value;
  track.last_t = t;
  track.has_last = true;
  track.segment = segment;
}

void Gather::add(const RowBlock& block, std::size_t first_line) {
  for (std::size_t r = 0; r < block.rows; ++r) {
    const auto next = r + 1 < block.rows ? std::optional(block.stamp[r + 1]) : std::nullopt;
    const auto t = layout_.time_is_row_number
                       ? clock_.row(static_cast<double>(rows_) * layout_.time_factor, {}, 0)
                       : clock_.row(block.stamp[r], next, first_line + block.line[r]);
    if (!t) {
      ++rows_skipped_;
      continue;
    }
    ++rows_;
    for (std::size_t k = 0; k < tracks_.size(); ++k) {
      const double value = block.values[k][r];
      if (std::isnan(value)) continue;
      double own_t = *t;
      if (own_time_[k]) {
        const double stamp = block.values[*own_time_[k]][r] * layout_.time_factor;
        if (std::isnan(stamp)) continue;
        own_t =
            std::max(tracks_[k].has_last ? tracks_[k].last_t : 0.0, *t + stamp - block.stamp[r]);
      }
      cell(tracks_[k], own_t, value, clock_.segment());
    }
  }
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
