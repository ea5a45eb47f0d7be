#include "log/scale.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace stopledger {
namespace {

constexpr double psi_kpa = 6.894757;

std::string no_unit(const Column& column) {
  return column.unit_text.empty()
             ? "has no unit"
             : fmt::format("has a unit that is not known (\"{}\")", column.unit_text);
}

/// Teeth of a sensor ring to scale by when nothing tells them (from memory: 40 to 60 are usual).
constexpr double assumed_teeth = 48.0;

}  // namespace

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

ValueScale state_scale(const Column& column, const Track& track, QuantityKind quantity,
                       std::optional<double> full_scale, std::vector<std::string>& notes) {
  const auto note = [&](std::string text) { notes.push_back(std::move(text)); };
  ValueScale scale;
  if (!track.any_number) return scale;
  const auto dimension = column.unit ? column.unit->dimension : UnitDimension::other;
  const bool measured = dimension == UnitDimension::current || dimension == UnitDimension::voltage;
  if (quantity == QuantityKind::valve) {
    const bool codes = !track.many_levels &&
                       std::all_of(track.levels.begin(), track.levels.end(),
                                   [](double v) { return v == 0.0 || v == 1.0 || v == 2.0; });
    if (!codes || measured) {
      // Rest, part current = hold, full current = release (trade reference 1.7).
      scale.threshold = 0.25 * full_scale.value_or(track.max);
      scale.second_threshold = 0.75 * full_scale.value_or(track.max);
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

std::optional<ValueScale> number_scale(const Column& column, const Track& track, Channel& channel,
                                       const ChannelMapEntry* entry, const CarFacts& car,
                                       std::vector<std::string>& notes) {
  const auto note = [&](std::string text) { notes.push_back(std::move(text)); };
  using Q = QuantityKind;
  ValueScale scale;
  const auto quantity = channel.role.quantity;
  const double largest = std::max(std::abs(track.min), std::abs(track.max));
  const auto assume = [&](const char* unit_text, const char* why) {
    const auto unit = parse_unit(unit_text);
    scale.factor = unit->factor;
    channel.unit_known = false;
    note(fmt::format("\"{}\" {}; read as {} {}", column.header, no_unit(column), unit_text, why));
  };
  if (quantity == Q::wheel_speed && counts_pulses(column, channel)) {
    channel.unit_known = true;
    if (channel.unit.empty()) channel.unit = "pulses";
    if (entry != nullptr && entry->metres_per_pulse) {
      scale.factor = *entry->metres_per_pulse;
      return scale;
    }
    const auto teeth =
        entry != nullptr && entry->pulses_per_turn ? entry->pulses_per_turn : car.sensor_teeth;
    const auto radius = car.rolling_radius_m;
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
      const auto radius = car.rolling_radius_m;
      scale.factor *= radius.value_or(assumed_radius_m);
      channel.unit_known = radius.has_value();
    } else if (quantity == Q::wheel_speed && dimension == UnitDimension::frequency) {
      const double radius = car.rolling_radius_m.value_or(assumed_radius_m);
      const double teeth = car.sensor_teeth.value_or(assumed_teeth);
      scale.factor *= 2.0 * std::numbers::pi * radius / teeth;
      channel.unit_known = car.rolling_radius_m.has_value() && car.sensor_teeth.has_value();
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
      // No brake of a car reaches 4000 psi (276 bar), let alone 4000 bar.
      if (largest > 4000.0) {
        assume("kPa", "because of its size");
        break;
      }
      scale.factor = 100.0;
      channel.unit_known = false;
      note(fmt::format(
          "\"{}\" {}: its peak as bar is {:.0f} kPa, as psi {:.0f} kPa, as MPa {:.0f} "
          "kPa; say which in a channel map, until then it is counted as bar",
          column.header, no_unit(column), 100.0 * largest, psi_kpa * largest, 1000.0 * largest));
      break;
    case Q::accel_long:
    case Q::accel_lat:
      if (column.wording.says_g) {
        assume("g", "by its name");
        channel.unit_known = true;
        channel.unit = "g";
        break;
      }
      channel.unit_known = false;  // settled against the car's motion once all are known
      break;
    case Q::yaw_rate:
    case Q::steering_angle:
      channel.unit_known = false;
      break;
    case Q::ignition_timing:
      assume("deg", "by assumption");
      channel.unit_known = true;  // nobody writes it in anything else
      notes.pop_back();
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

bool counts_pulses(const Column& column, const Channel& channel) {
  if (column.unit && column.unit->dimension == UnitDimension::count) return true;
  if (column.unit) return false;
  const bool by_map = std::any_of(column.entries.begin(), column.entries.end(), [](const auto* e) {
    return e->pulses_per_turn || e->metres_per_pulse;
  });
  return by_map || (column.wording.pulses && channel.role.quantity == QuantityKind::wheel_speed);
}

}  // namespace stopledger
