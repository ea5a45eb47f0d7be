#include "log/finish.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <set>

#include "base/error.h"
#include "base/quantity.h"

namespace stopledger {
namespace {

/// No car of this age runs faster than this (chosen: 432 km/h); a speed above it is a code for
/// "invalid" or a wrong unit.
constexpr double impossible_mps = 120.0;
/// A tyre radius to scale by when nothing tells it; slip is a ratio and does not need it.
constexpr double assumed_radius_m = 0.30;
/// Teeth of a sensor ring to scale by when nothing tells them (from memory: 40 to 60 are usual).
constexpr double assumed_teeth = 48.0;

struct Rates {
  double period = 1.0;  // filled cells per renewal
  bool proven = false;
  bool sparse = false;  // cells are blank between renewals
  UpdateEvidence evidence;
};

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

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

/// True update period of every track, by its own changes or by its companions.
std::vector<Rates> find_rates(const Layout& layout, Gather& gather) {
  const auto& tracks = gather.tracks();
  std::vector<Rates> rates(tracks.size());
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

/// Indices of the fresh samples of a track whose value is renewed every `period` cells.
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

/// The state a word means at that quantity.
double state_of(StateWord word, QuantityKind quantity) {
  using Q = QuantityKind;
  using W = StateWord;
  // Open and closed speak of the flow, not of the coil.
  const bool on_is_open = quantity == Q::outlet || quantity == Q::prime;
  switch (word) {
    case W::on:
      return 1.0;
    case W::off:
      return 0.0;
    case W::open:
      return on_is_open ? 1.0 : 0.0;
    case W::closed:
      return on_is_open ? 0.0 : 1.0;
    case W::apply:
      return quantity == Q::brake_switch ? 1.0 : 0.0;
    case W::hold:
      return quantity == Q::inlet || quantity == Q::valve ? 1.0 : 0.0;
    case W::release:
      return quantity == Q::valve ? 2.0 : quantity == Q::inlet || quantity == Q::outlet ? 1.0 : 0.0;
  }
  return 0.0;
}

/// How written numbers become values of the role.
struct Scale {
  double factor = 1.0, offset = 0.0;
  std::optional<double> threshold, second_threshold;  // states from a measured quantity
  std::optional<int> bit;
  bool duty = false;
};

class Finisher {
 public:
  Finisher(const Layout& layout, Gather& gather, const std::string& name,
           const ReadOptions& options, Log& log)
      : layout_(layout), gather_(gather), name_(name), options_(options), log_(log) {}

  void run();

 private:
  /// A role and where it comes from; one track may feed several roles, bit by bit.
  struct Claim {
    std::size_t track;
    Role role;
    const ChannelMapEntry* entry;
  };
  void note(std::string text) { log_.notes.push_back(std::move(text)); }
  void decide_open_roles();
  std::optional<Role> role_by_values(const Column& column, const Track& track) const;
  [[nodiscard]] std::string contradiction(const Column& column, const Track& track,
                                          const Role& role) const;
  Scale state_scale(const Column& column, const Track& track, QuantityKind quantity);
  std::optional<Scale> number_scale(const Column& column, const Track& track, Channel& channel);
  [[nodiscard]] static bool counts_pulses(const Column& column, const Channel& channel);
  void speed_from_counter(Channel& channel, const Track& track);
  void judge_satellite_delay();
  void build(const Claim& claim, const Rates& rates);
  [[nodiscard]] const Column& column_of(std::size_t track) const {
    return layout_.columns[gather_.columns()[track]];
  }
  void settle_speed_units();
  void rescale(Channel& channel, double factor);

  const Layout& layout_;
  Gather& gather_;
  const std::string& name_;
  const ReadOptions& options_;
  Log& log_;
  std::vector<Claim> claims_;
  const ChannelMapEntry* entry_ = nullptr;  // of the claim that is being built
  std::set<std::string> taken_;             // headers that became channels
};

std::optional<Role> Finisher::role_by_values(const Column& column, const Track& track) const {
  Role role = *column.wording.role;
  const bool three = track.levels.size() >= 3 || track.many_levels ||
                     track.words[static_cast<std::size_t>(StateWord::hold)];
  if (column.wording.valve_unspecified) return three ? std::optional(role) : std::nullopt;
  if (column.wording.place_only) {
    if (column.unit) {
      if (column.unit->dimension == UnitDimension::pressure)
        role.quantity = QuantityKind::wheel_pressure;
      else if (column.unit->dimension != UnitDimension::speed &&
               column.unit->dimension != UnitDimension::angular_rate)
        return std::nullopt;
      return role;
    }
    return track.many_levels && track.min >= 0.0 ? std::optional(role) : std::nullopt;
  }
  // A brake pedal with more than two positions is a travel.
  // (Of rank 30 are columns that are called a switch.)
  if (role.quantity == QuantityKind::brake_switch && column.wording.rank < 28 &&
      (track.many_levels || (column.unit && (column.unit->dimension == UnitDimension::share ||
                                             column.unit->dimension == UnitDimension::length))))
    role.quantity = QuantityKind::brake_travel;
  return role;
}

/// Why the values of a column cannot be what its name says; "" when they can.
std::string Finisher::contradiction(const Column& column, const Track& track,
                                    const Role& role) const {
  if (track.cells == 0) return "";
  const bool shared = column.unit && column.unit->dimension == UnitDimension::share;
  const bool measured = column.unit && (column.unit->dimension == UnitDimension::current ||
                                        column.unit->dimension == UnitDimension::voltage);
  if (!is_state(role.quantity)) {
    if (!track.any_number) return "its cells are words";
    const bool speed = role.quantity == QuantityKind::wheel_speed ||
                       role.quantity == QuantityKind::vehicle_speed ||
                       role.quantity == QuantityKind::satellite_speed;
    // Rolling back shows as a little below zero; a speed that is mostly negative is another thing.
    if (speed && track.min < 0.0 && -track.min > track.max)
      return "it is mostly negative (for a changed sign: invert = true)";
    return "";
  }
  if (role.quantity != QuantityKind::valve && track.many_levels && !shared && !measured &&
      (track.max > 100.0 || track.min < 0.0))
    return fmt::format("it takes many values from {:g} to {:g}", track.min, track.max);
  return "";
}

void Finisher::decide_open_roles() {
  std::map<Role, std::size_t> owner;
  for (std::size_t k = 0; k < gather_.tracks().size(); ++k) {
    const auto& column = column_of(k);
    if (!column.wording.role) continue;
    for (const auto* entry : column.entries) claims_.push_back({k, *entry->role, entry});
    if (!column.entries.empty()) continue;
    const auto role = role_by_values(column, gather_.tracks()[k]);
    if (!role) {
      if (column.wording.valve_unspecified)
        note(
            fmt::format("\"{}\" is a wheel's valve, but not said whether inlet or outlet; not "
                        "used until a channel map says so",
                        column.header));
      continue;
    }
    if (column.unit && column.unit->dimension != UnitDimension::other &&
        !unit_fits(role->quantity, column.unit->dimension)) {
      const auto what = fmt::format("\"{}\" is named as {}, which cannot be in {}", column.header,
                                    role_name(*role), column.unit_text);
      if (role->place != PlaceKind::car)
        throw Error(ErrorKind::input, {name_, layout_.header_line},
                    what +
                        "; say what it is, or \"unused\", in a channel map (--write-map, then "
                        "--channels)");
      note(what + "; not used");
      continue;
    }
    if (const auto why = contradiction(column, gather_.tracks()[k], *role); !why.empty()) {
      note(
          fmt::format("\"{}\" is named as {}, but {}; not used until a channel map says what it is",
                      column.header, role_name(*role), why));
      continue;
    }
    claims_.push_back({k, *role, nullptr});
  }
  // Words alone did not clash (see Layout); what the values made of them still may.
  std::vector<Claim> kept;
  for (const auto& claim : claims_) {
    const auto [found, fresh] = owner.try_emplace(claim.role, claim.track);
    if (fresh) {
      kept.push_back(claim);
      continue;
    }
    const auto& column = column_of(claim.track);
    const auto& other = column_of(found->second);
    if (claim.role.place != PlaceKind::car && !options_.first_claim_wins)
      throw Error(ErrorKind::input, {name_, layout_.header_line},
                  fmt::format("two columns claim {}: \"{}\" and \"{}\"; keep one by a channel map "
                              "(--write-map, then --channels)",
                              role_name(claim.role), other.header, column.header));
    note(fmt::format("\"{}\" is not used: \"{}\" is taken for {}", column.header, other.header,
                     role_name(claim.role)));
  }
  claims_ = std::move(kept);
}

Scale Finisher::state_scale(const Column& column, const Track& track, QuantityKind quantity) {
  Scale scale;
  if (!track.any_number) return scale;
  const auto dimension = column.unit ? column.unit->dimension : UnitDimension::other;
  const bool measured = dimension == UnitDimension::current || dimension == UnitDimension::voltage;
  if (quantity == QuantityKind::valve) {
    const bool codes = !track.many_levels &&
                       std::all_of(track.levels.begin(), track.levels.end(),
                                   [](double v) { return v == 0.0 || v == 1.0 || v == 2.0; });
    if (!codes || measured) {
      // Rest, part current = hold, full current = release (trade reference 1.7).
      scale.threshold = 0.25 * track.max;
      scale.second_threshold = 0.75 * track.max;
      note(fmt::format("\"{}\": up to {:g} read as apply, up to {:g} as hold, above as release",
                       column.header, *scale.threshold, *scale.second_threshold));
    }
    return scale;
  }
  if (measured) {
    // Half of the largest reading, but never so little that noise of an idle coil would switch it.
    const double floor = dimension == UnitDimension::current ? 0.3 : 3.0;
    scale.threshold = std::max(0.5 * track.max, floor / column.unit->factor);
    note(fmt::format("\"{}\": above {:g} {} read as energised", column.header, *scale.threshold,
                     column.unit_text));
    return scale;
  }
  auto levels = track.levels;
  std::sort(levels.begin(), levels.end());
  if (dimension == UnitDimension::share || track.many_levels || levels.size() > 2) {
    scale.duty = true;
    if (dimension == UnitDimension::share || (track.max > 1.0 && track.max <= 100.0)) {
      scale.factor = dimension == UnitDimension::share ? column.unit->factor : 0.01;
      if (dimension != UnitDimension::share)
        note(fmt::format("\"{}\" has values between on and off; read as percent duty",
                         column.header));
    } else if (track.max > 100.0) {
      scale.factor = 1.0 / track.max;
      note(fmt::format("\"{}\" has values up to {:g}; read as duty, {:g} being full", column.header,
                       track.max, track.max));
    }
    return scale;
  }
  if (levels.size() == 2) {
    scale.threshold = 0.5 * (levels[0] + levels[1]);
    if (levels[0] != 0.0)
      note(fmt::format("\"{}\" has the values {:g} and {:g}; the larger one is read as on",
                       column.header, levels[0], levels[1]));
  } else {
    scale.threshold = 0.0;
  }
  return scale;
}

std::optional<Scale> Finisher::number_scale(const Column& column, const Track& track,
                                            Channel& channel) {
  using Q = QuantityKind;
  Scale scale;
  const auto quantity = channel.role.quantity;
  const double largest = std::max(std::abs(track.min), std::abs(track.max));
  const auto assume = [&](const char* unit_text, const char* why) {
    const auto unit = parse_unit(unit_text);
    scale.factor = unit->factor;
    channel.unit_known = false;
    note(fmt::format("\"{}\" has no unit; read as {} {}", column.header, unit_text, why));
  };
  if (quantity == Q::wheel_speed && counts_pulses(column, channel)) {
    channel.unit_known = true;
    if (channel.unit.empty()) channel.unit = "pulses";
    const auto* entry = entry_;
    if (entry != nullptr && entry->metres_per_pulse) {
      scale.factor = *entry->metres_per_pulse;
      return scale;
    }
    const auto teeth = entry != nullptr && entry->pulses_per_turn ? entry->pulses_per_turn
                                                                  : options_.car.sensor_teeth;
    const auto radius = options_.car.rolling_radius_m;
    channel.unit_known = teeth.has_value() && radius.has_value();
    scale.factor =
        2.0 * std::numbers::pi * radius.value_or(assumed_radius_m) / teeth.value_or(assumed_teeth);
    return scale;
  }
  if (column.unit && column.unit->dimension != UnitDimension::other) {
    scale.factor = column.unit->factor;
    scale.offset = column.unit->offset;
    const auto dimension = column.unit->dimension;
    if (quantity == Q::wheel_speed && dimension == UnitDimension::angular_rate) {
      const auto radius = options_.car.rolling_radius_m;
      scale.factor *= radius.value_or(assumed_radius_m);
      channel.unit_known = radius.has_value();
    } else if (quantity == Q::wheel_speed && dimension == UnitDimension::frequency) {
      const double radius = options_.car.rolling_radius_m.value_or(assumed_radius_m);
      const double teeth = options_.car.sensor_teeth.value_or(assumed_teeth);
      scale.factor *= 2.0 * std::numbers::pi * radius / teeth;
      channel.unit_known =
          options_.car.rolling_radius_m.has_value() && options_.car.sensor_teeth.has_value();
    } else if ((quantity == Q::brake_travel || quantity == Q::throttle ||
                quantity == Q::accelerator) &&
               dimension != UnitDimension::share) {
      // A length, an angle or a sensor's volts: a share of what this log shows.
      if (track.max <= track.min) return std::nullopt;
      scale.factor = 1.0 / (track.max - track.min);
      scale.offset = -track.min * scale.factor;
      note(fmt::format("\"{}\" is read as a share of its own range, {:g} to {:g} {}", column.header,
                       track.min, track.max, column.unit_text));
    }
    return scale;
  }
  switch (quantity) {
    case Q::wheel_speed:
    case Q::vehicle_speed:
    case Q::satellite_speed:
      channel.unit_known = false;
      scale.factor = 1.0 / 3.6;  // settled against the other speeds once all are known
      break;
    case Q::wheel_pressure:
    case Q::master_pressure:
      if (largest > 3500.0)
        assume("kPa", "because of its size");
      else
        assume("bar", "by assumption");
      break;
    case Q::accel_long:
    case Q::accel_lat:
      if (largest <= 2.0)
        assume("g", "because of its size");
      else
        assume("m/s2", "because of its size");
      break;
    case Q::yaw_rate:
      if (largest <= 2.0)
        assume("rad/s", "because of its size");
      else
        assume("deg/s", "because of its size");
      break;
    case Q::steering_angle:
      assume("deg", "by assumption");
      break;
    case Q::ignition_timing:
      assume("deg", "by assumption");
      channel.unit_known = true;  // nobody writes it in anything else
      log_.notes.pop_back();
      break;
    case Q::engine_speed:
      scale.factor = parse_unit("rpm")->factor;
      break;
    case Q::brake_travel:
    case Q::throttle:
    case Q::accelerator:
      if (largest > 1.0) scale.factor = largest <= 110.0 ? 0.01 : 1.0 / largest;
      break;
    case Q::supply_voltage:
      if (largest > 1000.0) scale.factor = 1e-3;
      break;
    case Q::odometer:
      assume("km", "by assumption");
      break;
    default:
      break;
  }
  return scale;
}

void Finisher::build(const Claim& claim, const Rates& rates) {
  const auto& column = column_of(claim.track);
  const auto& track = gather_.tracks()[claim.track];
  if (track.cells == 0) {
    note(fmt::format("\"{}\" is empty", column.header));
    return;
  }
  Channel channel;
  channel.role = claim.role;
  channel.column = column.header;
  channel.unit = column.unit_text;
  channel.recognised_by = column.wording.matched;
  entry_ = claim.entry;
  const auto quantity = channel.role.quantity;
  const bool state = is_state(quantity);
  std::optional<Scale> scale;
  if (state && claim.entry != nullptr && (claim.entry->bit || claim.entry->on_above)) {
    scale = Scale{};
    scale->bit = claim.entry->bit;
    scale->threshold = claim.entry->on_above;
  } else if (state)
    scale = state_scale(column, track, quantity);
  else if (track.any_number)
    scale = number_scale(column, track, channel);
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
  taken_.insert(column.header);
}

bool Finisher::counts_pulses(const Column& column, const Channel& channel) {
  if (column.unit && column.unit->dimension == UnitDimension::count) return true;
  if (column.unit) return false;
  const bool by_map = std::any_of(column.entries.begin(), column.entries.end(), [](const auto* e) {
    return e->pulses_per_turn || e->metres_per_pulse;
  });
  return by_map || (column.wording.pulses && channel.role.quantity == QuantityKind::wheel_speed);
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

/// A satellite receiver reports late. Its delay is what brings its speed closest to the car's.
void Finisher::judge_satellite_delay() {
  Channel* satellite = nullptr;
  const Channel* own = nullptr;
  for (auto& channel : log_.channels) {
    if (channel.role.quantity == QuantityKind::satellite_speed) satellite = &channel;
    const bool wheel = channel.role.quantity == QuantityKind::wheel_speed;
    if (channel.role.quantity == QuantityKind::vehicle_speed || (wheel && own == nullptr))
      own = &channel;
  }
  if (satellite == nullptr) return;
  const auto unknown = [&](const char* why) {
    note(
        fmt::format("\"{}\" comes from a satellite receiver and may be late by a second or two; "
                    "its delay is not known ({})",
                    satellite->column, why));
  };
  if (own == nullptr) return unknown("no other speed to compare with");
  const auto& s = satellite->series;
  const auto& c = own->series;
  if (s.size() < 20 || c.size() < 20) return unknown("too few samples");
  const auto own_at = [&](double t) {
    const auto after = std::lower_bound(c.t_s.begin(), c.t_s.end(), t);
    if (after == c.t_s.begin() || after == c.t_s.end()) return std::nan("");
    const auto i = static_cast<std::size_t>(after - c.t_s.begin());
    const double span = c.t_s[i] - c.t_s[i - 1];
    if (span > 2.0) return std::nan("");
    const double share = span > 0.0 ? (t - c.t_s[i - 1]) / span : 1.0;
    return c.value[i - 1] + share * (c.value[i] - c.value[i - 1]);
  };
  // At most this many samples are compared, spread over the log.
  const std::size_t stride = std::max<std::size_t>(1, s.size() / 4000);
  double best = 0.0, best_error = 1e300, error_at_zero = 0.0, spread = 0.0;
  for (int step = -10; step <= 60; ++step) {  // -0.5 s to 3 s
    const double delay = 0.05 * step;
    double error = 0.0, change = 0.0;
    std::size_t n = 0;
    for (std::size_t i = 0; i < s.size(); i += stride) {
      const double a = own_at(s.t_s[i] - delay), b = own_at(s.t_s[i] - delay - 1.0);
      // Only where the speed changes can a delay be seen.
      if (std::isnan(a) || std::isnan(b) || std::abs(a - b) < 0.5) continue;
      error += std::abs(s.value[i] - a);
      change += std::abs(a - b);
      ++n;
    }
    if (n < 10) return unknown("the speed hardly changes");
    error /= static_cast<double>(n);
    if (step == 0) {
      error_at_zero = error;
      spread = change / static_cast<double>(n);
    }
    if (error < best_error) {
      best_error = error;
      best = delay;
    }
  }
  if (best_error > 0.5 * spread && best_error > 1.0)
    return unknown("it does not follow the other speed");
  satellite->read_skew_s = -best;
  satellite->time_uncertainty_s = std::max(satellite->time_uncertainty_s, 0.1);
  if (best >= 0.15)
    note(
        fmt::format("\"{}\" is late by {:.2f} s against \"{}\" (mean difference {:.2f} m/s, {:.2f} "
                    "m/s as it stands)",
                    satellite->column, best, own->column, best_error, error_at_zero));
}

void Finisher::rescale(Channel& channel, double factor) {
  for (auto& value : channel.series.value) value *= factor;
  if (channel.quantum) *channel.quantum *= factor;
}

/// Speeds without a unit: taken from their fellows, else by comparison with a speed that has one,
/// else left open and said so.
void Finisher::settle_speed_units() {
  const auto is_wheel = [](const Channel& c) {
    return c.role.quantity == QuantityKind::wheel_speed;
  };
  const auto is_speed = [&](const Channel& c) {
    return is_wheel(c) || c.role.quantity == QuantityKind::vehicle_speed ||
           c.role.quantity == QuantityKind::satellite_speed;
  };
  const Channel* known = nullptr;
  for (const auto& channel : log_.channels)
    if (is_speed(channel) && channel.unit_known && (known == nullptr || !is_wheel(channel)))
      known = &channel;
  const Channel* fellow = nullptr;  // a wheel speed with a speed unit
  for (const auto& channel : log_.channels)
    if (is_wheel(channel) && channel.unit_known && fellow == nullptr)
      if (const auto unit = parse_unit(channel.unit);
          unit && unit->dimension == UnitDimension::speed)
        fellow = &channel;
  std::vector<Channel*> open, unknown;
  for (auto& channel : log_.channels)
    if (is_speed(channel) && !channel.unit_known) open.push_back(&channel);
  if (open.empty()) return;

  // Ratio of an open speed to the known one while both move, with the known one held.
  const auto ratio = [&](const Channel& channel) -> std::optional<double> {
    if (known == nullptr) return std::nullopt;
    std::vector<double> ratios;
    std::size_t j = 0;
    for (std::size_t i = 0; i < channel.series.size(); ++i) {
      while (j + 1 < known->series.size() && known->series.t_s[j + 1] <= channel.series.t_s[i]) ++j;
      if (known->series.empty() || known->series.value[j] < 2.0 || channel.series.value[i] <= 0.0 ||
          std::abs(known->series.t_s[j] - channel.series.t_s[i]) > 2.0)
        continue;
      ratios.push_back(known->series.value[j] / channel.series.value[i]);
    }
    if (ratios.size() < 10) return std::nullopt;
    return median_of(ratios);
  };
  for (auto* channel : open) {
    const auto factor = ratio(*channel);
    const bool turns = !channel->unit.empty() && parse_unit(channel->unit);
    if (turns) {  // rpm, rad/s, Hz: the radius (or teeth) are what is missing
      if (factor) {
        rescale(*channel, *factor);
        channel->unit_known = true;
        note(fmt::format("\"{}\" in {}: scaled to \"{}\" (as a rolling radius of {:.3f} m would)",
                         channel->column, channel->unit, known->column,
                         options_.car.rolling_radius_m.value_or(assumed_radius_m) * *factor));
      } else {
        note(
            fmt::format("\"{}\" in {}: rolling radius not known, scaled with {:.2f} m; slip does "
                        "not depend on it, speeds and distances do",
                        channel->column, channel->unit, assumed_radius_m));
      }
      continue;
    }
    if (factor) {
      // The series is in km/h now; what would the other units make of it?
      for (const auto& [text, f] : {std::pair{"km/h", 1.0}, {"mph", 1.609344}, {"m/s", 3.6}})
        if (std::abs(*factor / f - 1.0) < 0.08) {
          rescale(*channel, f);
          channel->unit_known = true;
          channel->unit = text;
          note(fmt::format("\"{}\" has no unit; {} by comparison with \"{}\"", channel->column,
                           text, known->column));
        }
      if (channel->unit_known) continue;
    }
    if (is_wheel(*channel) && fellow != nullptr) {
      rescale(*channel, parse_unit(fellow->unit)->factor * 3.6);
      channel->unit_known = true;
      channel->unit = fellow->unit;
      note(fmt::format("\"{}\" has no unit; {} like \"{}\"", channel->column, fellow->unit,
                       fellow->column));
      continue;
    }
    unknown.push_back(channel);
  }
  if (unknown.empty()) return;
  double top = 0.0, hardest = 0.0;
  std::string names;
  for (const auto* channel : unknown) {
    names += fmt::format("{}\"{}\"", names.empty() ? "" : ", ", channel->column);
    const auto& series = channel->series;
    for (std::size_t i = 0, j = 0; i < series.size(); ++i) {
      top = std::max(top, series.value[i]);
      while (series.t_s[i] - series.t_s[j] > 1.0) ++j;
      const double dt = series.t_s[i] - series.t_s[j];
      if (dt > 0.7) hardest = std::max(hardest, (series.value[j] - series.value[i]) / dt);
    }
  }
  note(fmt::format(
      "{} {} no unit, so speeds are not known: as km/h the top speed is {:.1f} km/h and the "
      "hardest second of slowing {:.2f} m/s2; as mph {:.1f} km/h and {:.2f} m/s2; as m/s {:.1f} "
      "km/h and {:.2f} m/s2. Say which in a channel map (--write-map, then --channels); until then "
      "it is counted as km/h",
      names, unknown.size() == 1 ? "has" : "have", top * 3.6, hardest, top * 3.6 * 1.609344,
      hardest * 1.609344, top * 3.6 * 3.6, hardest * 3.6));
}

void Finisher::run() {
  decide_open_roles();
  const auto rates = find_rates(layout_, gather_);
  std::vector<std::string> held;
  for (const auto& claim : claims_) build(claim, rates[claim.track]);
  for (const auto& channel : log_.channels)
    if (channel.repeats_held)
      held.push_back(
          fmt::format("{} {:.2g} Hz", role_name(channel.role), channel.rate_hz.value_or(0)));
  if (!held.empty()) {
    std::string list;
    for (const auto& one : held) list += (list.empty() ? "" : ", ") + one;
    note("rows repeat old values; truly renewed: " + list);
  }
  settle_speed_units();
  judge_satellite_delay();
  for (std::size_t i = 0; i < layout_.columns.size(); ++i) {
    const auto& column = layout_.columns[i];
    if (!column.wording.question.empty() && !column.unused)
      note(fmt::format("\"{}\" is not used: {}; say what it is in a channel map", column.header,
                       column.wording.question));
    if (i == layout_.time_column || (layout_.date_column && i == *layout_.date_column)) continue;
    const bool own_time = std::any_of(layout_.own_time.begin(), layout_.own_time.end(),
                                      [&](std::size_t t) { return t == i; });
    if (!own_time && !taken_.contains(column.header)) log_.unused_columns.push_back(column.header);
  }
}

}  // namespace

void finish_channels(const Layout& layout, Gather& gather, const std::string& name,
                     const ReadOptions& options, Log& log) {
  Finisher(layout, gather, name, options, log).run();
}

}  // namespace stopledger
