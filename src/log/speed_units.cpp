#include "log/speed_units.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "log/rates.h"
#include "log/scale.h"
#include "log/unit.h"

namespace stopledger {
namespace {

/// Chosen: a speed in any usual unit stands to one in km/h between these, 1 to 3.6, with a third to
/// spare for a tacho that reads ahead.
constexpr double least_speed_ratio = 0.67, most_speed_ratio = 4.8;
/// Chosen: no run of these cars reaches 300 km/h, and one slower than 10 km/h is no run.
constexpr double no_car_mps = 300.0 / 3.6, no_run_mps = 10.0 / 3.6;

void rescale(Channel& channel, double factor) {
  for (auto& value : channel.series.value) value *= factor;
  if (channel.quantum) *channel.quantum *= factor;
}

}  // namespace

void settle_speed_units(Log& log, const CarFacts& car) {
  const auto note = [&](std::string text) { log.notes.push_back(std::move(text)); };
  const auto is_wheel = [](const Channel& c) {
    return c.role.quantity == QuantityKind::wheel_speed;
  };
  const auto is_speed = [&](const Channel& c) {
    return is_wheel(c) || c.role.quantity == QuantityKind::vehicle_speed ||
           c.role.quantity == QuantityKind::satellite_speed;
  };
  const Channel* known = nullptr;
  for (const auto& channel : log.channels)
    if (is_speed(channel) && channel.unit_known && (known == nullptr || !is_wheel(channel)))
      known = &channel;
  const Channel* fellow = nullptr;  // a wheel speed with a speed unit
  for (const auto& channel : log.channels)
    if (is_wheel(channel) && channel.unit_known && fellow == nullptr)
      if (const auto unit = parse_unit(channel.unit);
          unit && unit->dimension == UnitDimension::speed)
        fellow = &channel;
  std::vector<Channel*> open, unknown;
  for (auto& channel : log.channels)
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
                         car.rolling_radius_m.value_or(assumed_radius_m) * *factor));
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
      if (is_wheel(*channel) && (*factor < least_speed_ratio || *factor > most_speed_ratio)) {
        rescale(*channel, *factor);
        channel->unit_known = true;
        note(
            fmt::format("\"{}\" has no unit and counts something else than a speed: scaled to "
                        "\"{}\"",
                        channel->column, known->column));
        continue;
      }
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
  const auto readings = fmt::format(
      "{} {} no unit, so speeds are not known: as km/h the top speed is {:.1f} km/h and the "
      "hardest "
      "second of slowing {:.2f} m/s2; as mph {:.1f} km/h and {:.2f} m/s2; as m/s {:.1f} km/h and "
      "{:.2f} m/s2.",
      names, unknown.size() == 1 ? "has" : "have", top * 3.6, hardest, top * 3.6 * 1.609344,
      hardest * 1.609344, top * 3.6 * 3.6, hardest * 3.6);
  // No speed, but turns a minute would do: slip holds whatever the radius.
  const double radius_m = car.rolling_radius_m.value_or(assumed_radius_m);
  const double as_turns = 3.6 * std::numbers::pi / 30.0 * radius_m;
  if (top > no_car_mps && top * as_turns > no_run_mps && top * as_turns < no_car_mps) {
    for (auto* channel : unknown)
      if (is_wheel(*channel)) rescale(*channel, as_turns);
    note(readings +
         fmt::format(" None of these is a car's: counted as turns a minute with a rolling radius "
                     "of {:.3f} m, {:.1f} km/h at most, until a channel map says what it is "
                     "(--write-map, then --channels); slip does not depend on it, speeds and "
                     "distances do",
                     radius_m, top * as_turns * 3.6));
    return;
  }
  note(readings + (top > no_car_mps
                       ? " None of these is a car's: the numbers are counts. Say what one count is "
                         "in a channel map (unit and factor; --write-map, then --channels); until "
                         "then it is counted as km/h"
                       : " Say which in a channel map (--write-map, then --channels); until then "
                         "it is counted as km/h"));
}

}  // namespace stopledger
