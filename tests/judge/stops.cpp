#include "judge/stops.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/tyre.h"
#include "signal/series.h"

namespace stopledger::judge {

namespace {

/// Of the slowest wheel speed.
double wheel_rate(const model::Recorder& recorder) {
  double rate = recorder.rate_hz;
  for (std::size_t i = 0; i < recorder.channels.size(); ++i)
    if (recorder.channels[i].quantity == QuantityKind::wheel_speed)
      rate = std::min(rate, channel_rate_hz(recorder, i));
  return rate;
}

bool logs(const model::Recorder& recorder, QuantityKind quantity) {
  return std::any_of(recorder.channels.begin(), recorder.channels.end(),
                     [&](const Role& role) { return role.quantity == quantity; });
}

std::string described(const model::Take& take, const model::Event& event) {
  const model::Ground& ground = take.c.ground.front();
  std::string text(model::surface_name(ground.left.surface));
  if (ground.left.surface != ground.right.surface)
    text += "|" + std::string(model::surface_name(ground.right.surface));
  if (take.c.ground.size() > 1) text += " patches";
  text += fmt::format(", {:.0f} km/h{}", 3.6 * event.start_mps, event.modulated ? " abs" : "");
  if (logs(take.recorder, QuantityKind::brake_switch)) text += ", pedal";
  if (logs(take.recorder, QuantityKind::accel_long)) text += ", accel";
  if (take.recorder.speed_step > 0.0)
    text += fmt::format(", step {:.1f}", take.recorder.speed_step);
  if (take.recorder.clip_mps > 0.0)
    text += fmt::format(", clip {:.1f} km/h", 3.6 * take.recorder.clip_mps);
  if (take.recorder.noise > 0.0) text += fmt::format(", noise {:.2f} %", 100 * take.recorder.noise);
  for (const model::Fault& fault : take.c.faults)
    text += fmt::format(", {} {:.1f}", model::fault_name(fault.kind), fault.degree);
  return text;
}

std::string errors(const std::vector<const StopRow*>& rows,
                   const std::optional<double> StopRow::*read, const double StopRow::*real) {
  std::vector<double> off;
  for (const StopRow* row : rows)
    if (row->*read) off.push_back(std::abs(*(row->*read) / (row->*real) - 1.0));
  if (off.empty()) return "-";
  return fmt::format("{:.1f} % (median), {:.1f} % (90th) of {}", 100 * median(off),
                     100 * quantile(off, 0.9), off.size());
}

}  // namespace

void compare_stops(std::uint64_t seed, const model::Take& take, const model::Truth& truth,
                   double zero_s, const std::vector<Episode>& episodes, std::size_t log,
                   std::vector<StopRow>& rows) {
  for (const Episode& episode : episodes) {
    if (episode.log != log || episode.kind != EpisodeKind::stop) continue;
    for (const model::Event& event : truth.events) {
      if (event.kind != model::EventKind::stop || !event.mfdd_mps2) continue;
      if (std::abs(event.start_s - zero_s - episode.start_s) > 0.8) continue;
      StopRow row;
      row.seed = seed;
      row.start_s = episode.start_s;
      row.true_m = event.distance_m;
      row.true_mfdd = *event.mfdd_mps2;
      row.distance_m = episode.distance_m;
      row.mfdd_mps2 = episode.mfdd_mps2;
      row.carried_s = episode.carried_s;
      row.two_locked_s = episode.two_locked_s;
      row.estimated = episode.estimated;
      row.rate_hz = wheel_rate(take.recorder);
      row.what = described(take, event);
      rows.push_back(std::move(row));
    }
  }
}

void print_stops(const std::vector<StopRow>& rows) {
  std::vector<const StopRow*> fast, sure;
  for (const StopRow& row : rows) {
    if (row.rate_hz < 50.0) continue;
    fast.push_back(&row);
    if (!row.estimated) sure.push_back(&row);
  }
  fmt::print("\nStops, wheel speeds at 50 Hz or more: {}, {} of them estimated\n", fast.size(),
             fast.size() - sure.size());
  for (const auto& [name, some] : {std::pair{"all", &fast}, std::pair{"not estimated", &sure}})
    fmt::print("  {:<14} distance off by {}; MFDD {}\n", name,
               errors(*some, &StopRow::distance_m, &StopRow::true_m),
               errors(*some, &StopRow::mfdd_mps2, &StopRow::true_mfdd));
}

void list_stops(const std::vector<StopRow>& rows) {
  fmt::print("\nStops: true and read\n");
  const auto off = [](std::optional<double> read, double real) {
    return read ? fmt::format("{:6.2f} {:+6.1f} %", *read, 100.0 * (*read / real - 1.0))
                : std::string("     -         ");
  };
  for (const StopRow& row : rows)
    fmt::print(
        "{:>7} {:7.2f} s {:5.0f} Hz {:6.2f} m: {}  {:5.2f} m/s2: {} {} stood {:.2f} two {:.2f}; "
        "{}\n",
        row.seed, row.start_s, row.rate_hz, row.true_m, off(row.distance_m, row.true_m),
        row.true_mfdd, off(row.mfdd_mps2, row.true_mfdd), row.estimated ? "est" : "   ",
        row.carried_s, row.two_locked_s, row.what);
}

}  // namespace stopledger::judge
