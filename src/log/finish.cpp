#include "log/finish.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <map>
#include <set>

#include "log/claims.h"
#include "log/invalid_cells.h"
#include "log/motion_units.h"
#include "log/questions.h"
#include "log/rates.h"
#include "log/satellite.h"
#include "log/scale.h"
#include "log/speed_units.h"
#include "log/valve_count.h"

namespace stopledger {
namespace {

// A pulse counter's speed is taken over so many samples that one pulse is no greater step than this
// (chosen: a twentieth of 36 km/h), but never over longer than this (chosen: half a cycle of 5 a
// second, CT-06).
constexpr double count_step_mps = 0.5, count_longest_s = 0.1;

class Finisher {
 public:
  Finisher(const Layout& layout, Gather& gather, const std::string& name,
           const ReadOptions& options, Log& log)
      : layout_(layout), gather_(gather), name_(name), options_(options), log_(log) {}

  void run();

 private:
  void note(std::string text) { log_.notes.push_back(std::move(text)); }
  void speed_from_counter(Channel& channel, const Track& track);
  void leave_out_invalid(Channel& channel, const Track& track, const ValueScale& scale,
                         bool has_unit);
  void build(const RoleClaim& claim, const TrackRate& rates);
  [[nodiscard]] const Column& column_of(std::size_t track) const {
    return layout_.columns[gather_.columns()[track]];
  }

  const Layout& layout_;
  Gather& gather_;
  const std::string& name_;
  const ReadOptions& options_;
  Log& log_;
  std::map<std::string, std::vector<std::string>> remarks_;
  std::vector<std::string> on_grid_;  // roles of states whose edges lie on a grid, with its step
};

void Finisher::build(const RoleClaim& claim, const TrackRate& rates) {
  const auto& column = column_of(claim.track);
  const auto& track = gather_.tracks()[claim.track];
  if (track.cells == 0) {
    note(fmt::format("\"{}\" is not used: no cell of it holds a value", column.header));
    return;
  }
  Channel channel;
  channel.role = claim.role;
  channel.column = column.header;
  channel.unit = column.unit_text;
  channel.recognised_by = column.wording.matched;
  const auto quantity = channel.role.quantity;
  const bool state = is_state(quantity);
  std::optional<ValueScale> scale;
  const bool by_map = claim.entry != nullptr && (claim.entry->bit || claim.entry->on_above);
  const bool counted = !by_map && counts_switchings(column, track, quantity);
  if (counted) {
    scale = ValueScale{};
    note(fmt::format("\"{}\" counts; read as switched wherever the count rises", column.header));
  } else if (state && by_map) {
    scale = ValueScale{};
    scale->bit = claim.entry->bit;
    scale->threshold = claim.entry->on_above;
  } else if (state)
    scale = state_scale(column, track, quantity, claim.full_scale, log_.notes);
  else if (track.any_number)
    scale = number_scale(column, track, channel, claim.entry, options_.car, log_.notes);
  if (scale && claim.entry != nullptr && claim.entry->factor) scale->factor *= *claim.entry->factor;
  if (!scale) {
    note(fmt::format("\"{}\" is not used as {}: its values are words", column.header,
                     role_name(channel.role)));
    return;
  }
  channel.is_duty = scale->duty;

  const auto fresh = fresh_samples(track, rates.period);
  const double spacing = rates.sparse ? track.spacing_s.typical() : gather_.row_spacing();
  channel.repeats_held = rates.period >= 1.2 && !rates.edges_only;
  if (rates.edges_only)
    on_grid_.push_back(fmt::format("{} {:.2g} s", role_name(claim.role), rates.period * spacing));
  if (spacing > 0.0) channel.rate_hz = 1.0 / (spacing * std::max(1.0, rates.period));
  channel.time_uncertainty_s = rates.sparse                         ? 0.0
                               : rates.proven || rates.period < 1.2 ? spacing
                                                                    : spacing * rates.period;
  if (!state && rates.evidence.quantum)
    channel.quantum = *rates.evidence.quantum * std::abs(scale->factor);
  const bool speed = quantity == QuantityKind::wheel_speed ||
                     quantity == QuantityKind::vehicle_speed ||
                     quantity == QuantityKind::satellite_speed;
  channel.series.t_s.reserve(fresh.size());
  channel.series.value.reserve(fresh.size());
  for (const auto i : fresh) {
    const double raw = track.value[i];
    double value = 0.0;
    if (is_word(raw)) {
      if (!state) continue;
      value = state_of(word_of(raw), quantity);
    } else {
      value = raw * scale->factor + scale->offset;
      if (scale->bit)
        value = static_cast<double>(
            (static_cast<std::uint64_t>(std::max(0.0, raw)) >> *scale->bit) & 1U);
      else if (scale->second_threshold)
        value = raw > *scale->second_threshold ? 2.0 : raw > *scale->threshold ? 1.0 : 0.0;
      else if (scale->threshold)
        value = raw > *scale->threshold ? 1.0 : 0.0;
    }
    if (claim.entry != nullptr && claim.entry->invert) value = state ? 1.0 - value : -value;
    channel.series.t_s.push_back(track.t[i]);
    channel.series.value.push_back(value);
  }
  if (counted) channel.series.value = switched_since(channel.series.value);
  if (quantity == QuantityKind::wheel_speed && counts_pulses(column, channel))
    speed_from_counter(channel, track);
  else if (speed)
    leave_out_invalid(channel, track, *scale, column.unit.has_value());
  channel.samples =
      track.thinned
          ? static_cast<std::size_t>(std::llround(static_cast<double>(track.cells) / rates.period))
          : channel.series.size();
  if (channel.samples < 2) channel.rate_hz.reset();
  log_.channels.push_back(std::move(channel));
  if (claim.entry == nullptr && !column.wording.remark.empty())
    remarks_[column.wording.remark].push_back(column.header);
}

/// Takes out the cells that hold no speed, and says which and why.
void Finisher::leave_out_invalid(Channel& channel, const Track& track, const ValueScale& scale,
                                 bool has_unit) {
  auto& [t, v] = channel.series;
  const auto faults = judge_speed_cells(t, v, has_unit);
  const auto cells = count_invalid(v, faults);
  if (cells.count() == 0) return;
  const auto found = std::find_if(faults.begin(), faults.end(),
                                  [](CellFault fault) { return fault != CellFault::none; });
  const double example = v[static_cast<std::size_t>(found - faults.begin())];
  const double first_s = t[static_cast<std::size_t>(found - faults.begin())];
  std::size_t kept = 0;
  for (std::size_t i = 0; i < v.size(); ++i) {
    if (faults[i] != CellFault::none) continue;
    t[kept] = t[i];
    v[kept++] = v[i];
  }
  t.resize(kept);
  v.resize(kept);
  // As it stands in the file; the line is known of the lowest and the highest number.
  const double written = (example - scale.offset) / scale.factor;
  const auto is = [&](double number) {
    return std::abs(std::abs(written) - std::abs(number)) < 1e-9 * (1.0 + std::abs(number));
  };
  const std::size_t line = is(track.max) ? track.max_line : is(track.min) ? track.min_line : 0;
  channel.invalid = cells.count();
  channel.invalid_moving = cells.moving;
  channel.invalid_what =
      fmt::format("{:g}, {}, first {}", written, why_invalid(cells),
                  line > 0 ? fmt::format("in line {}", line) : fmt::format("at {:.2f} s", first_s));
  log_.defects.push_back(
      {line, cells.count(),
       fmt::format("{}{} of \"{}\" {} no speed ({:g}: {}; a code for \"invalid\"?); left out",
                   track.thinned ? "at least " : "",
                   cells.count() == 1 ? "1 cell" : fmt::format("{} cells", cells.count()),
                   channel.column, cells.count() == 1 ? "holds" : "hold", written,
                   why_invalid(cells))});
}

// A count that stood still and then made up for it was not read anew: a wheel that stood comes back
// no faster than it went before (chosen: by half beyond that, and three quarters of all that is
// missing, at the fastest of the last three differences, for it slowed before it stood).
constexpr double made_up = 1.5, missing_share = 0.75;

/// Takes out samples at which a running count was written again and not read: the next difference
/// makes up for those that are missing. `count` wraps at `wrap`.
void drop_held(Series& count, double wrap) {
  auto& [t, value] = count;
  const auto step = [&](std::size_t from, std::size_t to) {
    const double d = value[to] - value[from];
    return d < 0.0 ? d + wrap : d;
  };
  std::vector<char> held(t.size(), 0);
  std::array<double, 3> before{};  // a second, of the last differences that were read
  for (std::size_t i = 1, read = 0; i < t.size(); ++i) {
    std::size_t next = i;
    while (next < t.size() && value[next] == value[i - 1]) ++next;
    if (next == t.size()) break;
    const double usual = *std::max_element(before.begin(), before.end()) * (t[next] - t[next - 1]);
    const double least =
        usual * std::max(made_up, missing_share * static_cast<double>(next - i + 1));
    const bool again = next > i && usual > 0.0 && step(i - 1, next) > least;
    if (again)
      std::fill(held.begin() + static_cast<std::ptrdiff_t>(i),
                held.begin() + static_cast<std::ptrdiff_t>(next), 1);
    before[read++ % before.size()] =
        step(i - 1, next) / std::max(t[next] - t[again ? i - 1 : next - 1], 1e-9);
    i = next;
  }
  std::size_t kept = 0;
  for (std::size_t i = 0; i < t.size(); ++i) {
    if (held[i]) continue;
    t[kept] = t[i];
    value[kept++] = value[i];
  }
  t.resize(kept);
  value.resize(kept);
}

/// Speed from a running count of pulses: metres counted between two samples over the time between
/// them, placed in its middle; the samples lie further apart where one pulse is a great step of
/// speed. A count that falls has wrapped at the next power of two (or was
/// reset, which would be an impossible speed and is left out).
void Finisher::speed_from_counter(Channel& channel, const Track& track) {
  auto& [t, metres] = channel.series;
  if (t.size() < 2) return;
  double wrap = 256.0;
  while (wrap <= track.max) wrap *= 256.0;
  const double scale = track.max > track.min ? (*std::max_element(metres.begin(), metres.end()) -
                                                *std::min_element(metres.begin(), metres.end())) /
                                                   (track.max - track.min)
                                             : 0.0;
  drop_held(channel.series, wrap * scale);
  // Of few pulses a sample the difference jumps by whole ones: then over more samples.
  const double step_s = channel.rate_hz ? 1.0 / *channel.rate_hz : 0.0;
  const double pulse_m = scale;
  std::size_t reach = 1;
  while (step_s > 0.0 && pulse_m / (static_cast<double>(reach) * step_s) > count_step_mps &&
         static_cast<double>(reach + 1) * step_s <= count_longest_s)
    ++reach;
  Series speed;
  std::vector<double> way(t.size(), 0.0);  // counted since the first sample, or since a reset
  std::size_t since = 0;
  for (std::size_t i = 1; i < t.size(); ++i) {
    double d = metres[i] - metres[i - 1];
    if (d < 0.0) d += wrap * scale;
    const double dt = t[i] - t[i - 1];
    if (dt <= 0.0 || d / dt > impossible_mps) {
      since = i;
      continue;
    }
    way[i] = way[i - 1] + d;
    std::size_t from = i - std::min(reach, i - since);
    while (from + 1 < i && t[i] - t[from] > 1.5 * static_cast<double>(reach) * step_s) ++from;
    speed.t_s.push_back(0.5 * (t[i] + t[from]));
    speed.value.push_back((way[i] - way[from]) / (t[i] - t[from]));
  }
  channel.series = std::move(speed);
  if (step_s > 0.0) channel.quantum = pulse_m / (static_cast<double>(reach) * step_s);
  note(fmt::format("\"{}\" counts pulses; read as a count that wraps at {:.0f}", channel.column,
                   wrap));
}

void Finisher::run() {
  const auto claims = settle_roles(layout_, gather_, name_, options_, log_);
  const auto rates = find_rates(layout_, gather_);
  for (std::size_t i = 0; i < claims.size(); ++i) {
    const auto track = claims[i].track;
    build(claims[i], rates[track]);
    // Its samples are in the channels now.
    const bool needed_again =
        std::any_of(claims.begin() + static_cast<std::ptrdiff_t>(i) + 1, claims.end(),
                    [&](const RoleClaim& later) { return later.track == track; });
    if (!needed_again) gather_.tracks()[track] = {};
  }
  for (const auto& [remark, columns] : remarks_)
    note(fmt::format("{}: {}", name_columns(columns), remark));
  std::vector<std::string> held;
  for (const auto& channel : log_.channels)
    if (channel.repeats_held)
      held.push_back(
          fmt::format("{} {:.2g} Hz", role_name(channel.role), channel.rate_hz.value_or(0)));
  if (!held.empty()) {
    std::string list;
    for (const auto& one : held) list += (list.empty() ? "" : ", ") + one;
    note("rows repeat old values; truly renewed: " + list);
  }
  if (!on_grid_.empty())
    note(
        fmt::format("changes lie on a grid ({}) though numbers beside them are renewed more often: "
                    "the control works in such steps, or these columns are renewed only so often. "
                    "What could have been missed is counted as if the latter",
                    fmt::join(on_grid_, ", ")));
  settle_speed_units(log_, options_.car);
  settle_motion_units(log_, options_.car);
  judge_satellite_speed(log_);
  std::set<std::string> taken;
  for (const auto& channel : log_.channels) taken.insert(channel.column);
  for (std::size_t i = 0; i < layout_.columns.size(); ++i) {
    const auto& column = layout_.columns[i];
    if (!column.wording.question.empty() && !column.unused)
      log_.questions.push_back({column.header, column.wording.question, column.wording.suggestion});
    if (i == layout_.time_column || (layout_.date_column && i == *layout_.date_column)) continue;
    const bool own_time = std::any_of(layout_.own_time.begin(), layout_.own_time.end(),
                                      [&](std::size_t t) { return t == i; });
    if (!own_time && !taken.contains(column.header)) log_.unused_columns.push_back(column.header);
  }
  note_questions(log_);
}

}  // namespace

void finish_channels(const Layout& layout, Gather& gather, const std::string& name,
                     const ReadOptions& options, Log& log) {
  Finisher(layout, gather, name, options, log).run();
}

}  // namespace stopledger
