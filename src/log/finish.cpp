#include "log/finish.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <set>

#include "log/claims.h"
#include "log/motion_units.h"
#include "log/questions.h"
#include "log/rates.h"
#include "log/satellite.h"
#include "log/scale.h"
#include "log/speed_units.h"

namespace stopledger {
namespace {

class Finisher {
 public:
  Finisher(const Layout& layout, Gather& gather, const std::string& name,
           const ReadOptions& options, Log& log)
      : layout_(layout), gather_(gather), name_(name), options_(options), log_(log) {}

  void run();

 private:
  void note(std::string text) { log_.notes.push_back(std::move(text)); }
  void speed_from_counter(Channel& channel, const Track& track);
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
  if (state && claim.entry != nullptr && (claim.entry->bit || claim.entry->on_above)) {
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
  channel.repeats_held = rates.period >= 1.2;
  if (spacing > 0.0) channel.rate_hz = 1.0 / (spacing * std::max(1.0, rates.period));
  channel.time_uncertainty_s = rates.sparse                         ? 0.0
                               : rates.proven || rates.period < 1.2 ? spacing
                                                                    : spacing * rates.period;
  if (!state && rates.evidence.quantum)
    channel.quantum = *rates.evidence.quantum * std::abs(scale->factor);
  const bool speed = quantity == QuantityKind::wheel_speed ||
                     quantity == QuantityKind::vehicle_speed ||
                     quantity == QuantityKind::satellite_speed;
  std::size_t impossible = 0;
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
      if (speed && column.unit && !counts_pulses(column, channel) &&
          std::abs(value) > impossible_mps) {
        ++impossible;
        continue;
      }
    }
    if (claim.entry != nullptr && claim.entry->invert) value = state ? 1.0 - value : -value;
    channel.series.t_s.push_back(track.t[i]);
    channel.series.value.push_back(value);
  }
  if (quantity == QuantityKind::wheel_speed && counts_pulses(column, channel))
    speed_from_counter(channel, track);
  if (impossible > 0)
    log_.defects.push_back(
        {0, impossible,
         fmt::format("{} of \"{}\" impossibly high (a code for \"invalid\"?); left out",
                     impossible == 1 ? "1 value" : fmt::format("{} values", impossible),
                     column.header)});
  channel.samples =
      track.thinned
          ? static_cast<std::size_t>(std::llround(static_cast<double>(track.cells) / rates.period))
          : channel.series.size();
  if (channel.samples < 2) channel.rate_hz.reset();
  log_.channels.push_back(std::move(channel));
  if (claim.entry == nullptr && !column.wording.remark.empty())
    remarks_[column.wording.remark].push_back(column.header);
}

/// Speed from a running count of pulses: metres counted between two samples over the time between
/// them, placed in its middle. A count that falls has wrapped at the next power of two (or was
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
  Series speed;
  for (std::size_t i = 1; i < t.size(); ++i) {
    const double dt = t[i] - t[i - 1];
    double d = metres[i] - metres[i - 1];
    if (d < 0.0) d += wrap * scale;
    if (dt <= 0.0 || d / dt > impossible_mps) continue;
    speed.t_s.push_back(0.5 * (t[i] + t[i - 1]));
    speed.value.push_back(d / dt);
  }
  channel.series = std::move(speed);
  if (channel.quantum && channel.rate_hz) *channel.quantum *= *channel.rate_hz;
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
  settle_speed_units(log_, options_.car);
  settle_motion_units(log_, options_.car);
  judge_satellite_delay(log_);
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
