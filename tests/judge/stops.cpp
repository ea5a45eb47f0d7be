#include "judge/stops.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "judge/tally.h"
#include "model/tyre.h"
#include "signal/series.h"

namespace stopledger::judge {

namespace {

/// Looks a second at the slowest wheel speed, or at the car's own where there is no other.
double speed_rate(const model::Recorder& recorder) {
  double wheels = 1e9, own = 0.0;
  for (std::size_t i = 0; i < recorder.channels.size(); ++i) {
    const QuantityKind quantity = recorder.channels[i].quantity;
    if (quantity == QuantityKind::wheel_speed)
      wheels = std::min(wheels, channel_rate_hz(recorder, i));
    else if (quantity == QuantityKind::vehicle_speed)
      own = channel_rate_hz(recorder, i);
  }
  return wheels < 1e9 ? wheels : own;
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

/// One of the two figures of a stop: as read, its bounds, as it was.
struct Figure {
  std::optional<double> StopRow::*read;
  double StopRow::*share;
  double StopRow::*real;
};
constexpr Figure length{&StopRow::distance_m, &StopRow::distance_share, &StopRow::true_m};
constexpr Figure mfdd{&StopRow::mfdd_mps2, &StopRow::mfdd_share, &StopRow::true_mfdd};

/// Errors of those that state it, and how often the stated bounds held.
std::string errors(const std::vector<const StopRow*>& rows, const Figure& figure) {
  std::vector<double> off, shares;
  std::size_t held = 0;
  for (const StopRow* row : rows) {
    const std::optional<double> read = row->*figure.read;
    if (!read) continue;
    off.push_back(std::abs(*read / (row->*figure.real) - 1.0));
    shares.push_back(row->*figure.share);
    const double factor = std::max(*read / (row->*figure.real), (row->*figure.real) / *read);
    held += factor <= 1.0 + row->*figure.share;
  }
  if (off.empty()) return "none stated";
  return fmt::format("off by {:4.1f} %, {:4.1f} %; stated +-{:4.1f} %; held {}; withheld {} of {}",
                     100 * median(off), 100 * quantile(off, 0.9), 100 * median(shares),
                     bound(held, off.size()), rows.size() - off.size(), rows.size());
}

void print_group(const char* name, const std::vector<const StopRow*>& rows) {
  fmt::print("  {:<24} length {}\n  {:<24} MFDD   {}\n", name, errors(rows, length), "",
             errors(rows, mfdd));
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
      // A car that turned round has no such length: shorter than any brake (FR-06) could make it.
      if (event.distance_m < event.start_mps * event.start_mps / (2.0 * 13.0)) continue;
      StopRow row;
      row.seed = seed;
      row.start_s = episode.start_s;
      row.true_m = event.distance_m;
      row.true_mfdd = *event.mfdd_mps2;
      row.distance_m = episode.distance_m;
      row.mfdd_mps2 = episode.mfdd_mps2;
      row.distance_share = episode.distance_share;
      row.mfdd_share = episode.mfdd_share;
      row.carried_s = episode.carried_s;
      row.two_locked_s = episode.two_locked_s;
      row.estimated = episode.estimated;
      row.rate_hz = speed_rate(take.recorder);
      row.what = described(take, event);
      rows.push_back(std::move(row));
    }
  }
}

void print_stops(const std::vector<StopRow>& rows) {
  const auto some = [&](auto test) {
    std::vector<const StopRow*> out;
    for (const StopRow& row : rows)
      if (test(row)) out.push_back(&row);
    return out;
  };
  fmt::print(
      "\nStops, by looks a second at the speeds: median and 90th percentile of the error, median "
      "of "
      "the stated 95 % bounds, how often these held\n");
  print_group("50 or more", some([](const StopRow& row) { return row.rate_hz >= 50.0; }));
  print_group("  not called estimated",
              some([](const StopRow& row) { return row.rate_hz >= 50.0 && !row.estimated; }));
  print_group("10 to 50",
              some([](const StopRow& row) { return row.rate_hz >= 10.0 && row.rate_hz < 50.0; }));
  print_group("below 10", some([](const StopRow& row) { return row.rate_hz < 10.0; }));
}

void list_stops(const std::vector<StopRow>& rows) {
  fmt::print("\nStops: true and read\n");
  const auto off = [](std::optional<double> read, double share, double real) {
    return read ? fmt::format("{:6.2f} {:+6.1f} % (+-{:4.1f})", *read, 100.0 * (*read / real - 1.0),
                              100.0 * share)
                : std::string("     -                 ");
  };
  for (const StopRow& row : rows)
    fmt::print(
        "{:>7} {:7.2f} s {:5.0f} Hz {:6.2f} m: {}  {:5.2f} m/s2: {} {} stood {:.2f} two {:.2f}; "
        "{}\n",
        row.seed, row.start_s, row.rate_hz, row.true_m,
        off(row.distance_m, row.distance_share, row.true_m), row.true_mfdd,
        off(row.mfdd_mps2, row.mfdd_share, row.true_mfdd), row.estimated ? "est" : "   ",
        row.carried_s, row.two_locked_s, row.what);
}

}  // namespace stopledger::judge
