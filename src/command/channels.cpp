#include <fmt/format.h>
#include <fmt/ostream.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <fstream>
#include <memory>
#include <optional>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/entry_checks.h"
#include "command/kept_maps.h"
#include "command/ledger_use.h"
#include "command/output_file.h"
#include "command/progress.h"
#include "log/channel_map.h"
#include "log/reader.h"
#include "verify/read_times.h"

namespace stopledger {
namespace {

/// First few values of a channel, in the unit that a reader thinks in.
std::string first_values(const Channel& channel) {
  std::string text;
  for (std::size_t i = 0; i < channel.series.size() && i < 4; ++i)
    text += fmt::format("{}{:.4g}", i == 0 ? "" : " ", channel.series.value[i]);
  return text;
}

/// True when the log has that quantity at the corner or, for a rear one, on the rear axle.
bool has(const Log& log, QuantityKind quantity, Corner corner) {
  return log.find(Role::at(quantity, corner)) != nullptr ||
         (!is_front(corner) && log.find(Role::rear(quantity)) != nullptr);
}

bool has_any(const Log& log, QuantityKind quantity) {
  return std::any_of(log.channels.begin(), log.channels.end(),
                     [&](const Channel& c) { return c.role.quantity == quantity; });
}

/// What the log cannot show because a channel is missing.
void print_missing(const Log& log, std::ostream& out) {
  std::string wheels, releases;
  for (const Corner corner : all_corners) {
    const std::string name(corner_name(corner));
    if (!has(log, QuantityKind::wheel_speed, corner) &&
        !has(log, QuantityKind::wheel_pressure, corner))
      wheels += " " + name;
    if (!has(log, QuantityKind::outlet, corner) && !has(log, QuantityKind::valve, corner))
      releases += " " + name;
  }
  if (!wheels.empty())
    fmt::print(out, "  missing: wheel speed at{}: the wheel's answer cannot be seen there\n",
               wheels);
  if (!releases.empty())
    fmt::print(out, "  missing: outlet valve at{}: releases are not seen as commands there\n",
               releases);
  if (!has_any(log, QuantityKind::pump))
    fmt::print(out, "  missing: pump: nothing can be said of it\n");
  if (!has_any(log, QuantityKind::isolation) && !has_any(log, QuantityKind::prime))
    fmt::print(out,
               "  missing: isolation and prime valves: nothing can be said of them (cars with "
               "traction or stability control)\n");
}

/// How far apart the wheels of an axle were read within a row.
void print_read_times(const Log& log, std::ostream& out) {
  for (const AxleReadTimes& axle : axle_read_times(log)) {
    const auto& skew = axle.skew;
    const double most = std::max(std::abs(skew.low_s), std::abs(skew.high_s));
    if (axle.least_s() > 0.0)
      fmt::print(out,
                 "  read times: {} {:.3f} s {} {} in a row (95 %: {:.3f} to {:.3f} s; from {} s "
                 "of rolling)\n",
                 corner_name(axle.right), std::abs(skew.s), skew.s > 0.0 ? "after" : "before",
                 corner_name(axle.left), axle.least_s(), most, skew.windows);
    else
      fmt::print(out, "  read times: {} and {} within {:.3f} s (95 %; from {} s of rolling)\n",
                 corner_name(axle.left), corner_name(axle.right), most, skew.windows);
  }
}

void print_channels(const Log& log, std::ostream& out) {
  fmt::print(out, "{}: {} rows, {:.1f} s, {} segment{}\n", log.file, log.rows, log.duration_s,
             log.segments.size(), log.segments.size() == 1 ? "" : "s");
  if (log.channels.empty()) fmt::print(out, "No column was recognised.\n");
  for (const auto& channel : log.channels)
    fmt::print(out, "  {:<17} {:>8}  {:<6} \"{}\" by {}; first {}\n", role_name(channel.role),
               channel.rate_hz ? fmt::format("{:.3g} Hz", *channel.rate_hz) : "-",
               channel.unit_known ? channel.unit : channel.unit + "?", channel.column,
               channel.recognised_by, first_values(channel));
  print_read_times(log, out);
  print_missing(log, out);
  for (const auto& column : log.unused_columns) fmt::print(out, "  not used: \"{}\"\n", column);
  for (const auto& note : log.notes) fmt::print(out, "  note: {}\n", note);
  for (const auto& defect : log.defects)
    fmt::print(out, "  {}{}\n", defect.line > 0 ? fmt::format("line {}: ", defect.line) : "",
               defect.what);
}

struct ChannelsOptions {
  std::string log, map, write_map, car;
  bool keep = false;
};

void run_channels(const ChannelsOptions& options, Context& context) {
  ReadOptions reading;
  reading.hash = false;  // nothing of it is printed
  if (options.keep && (options.car.empty() || options.map.empty()))
    throw Error(ErrorKind::usage,
                "--keep needs --car NAME and --channels FILE: a map is kept with a car");
  std::optional<Ledger> ledger;
  std::optional<KeptMaps> kept_maps;
  if (!options.car.empty()) {
    ledger.emplace(open_ledger(context, options.keep ? Ledger::Mode::write : Ledger::Mode::read));
    reading.car = ledger->car(options.car).facts;
    if (options.keep) refuse_outside_its_life(*ledger, reading.car.name, context.today, false);
  }
  ChannelMap map;
  if (!options.map.empty()) {
    map = read_channel_map(options.map);
    reading.map = &map;
  } else if (ledger) {
    kept_maps.emplace(*ledger, reading.car.name);
    reading.remembered_map = [&](const std::string& wording) { return kept_maps->find(wording); };
  }
  std::optional<Log> read;
  {
    // A map is wanted just when words do not settle the columns: it is written for editing then.
    reading.first_claim_wins = !options.write_map.empty();
    Progress progress(context);
    reading.progress = progress.reporter();
    read = read_log(options.log, reading);
  }
  Log& log = *read;
  if (kept_maps) note_kept_map(*kept_maps, log);
  print_channels(log, context.out);
  if (options.keep)
    context.out << keep_map(*ledger, reading.car.name, context.today, options.map, log, context);
  if (!options.write_map.empty()) {
    write_output(context, options.write_map, write_channel_map(log), {&options.log, 1});
    fmt::print(context.out, "Channel map written to {}; edit it and use it with --channels.\n",
               options.write_map);
  }
  context.exit = log.channels.empty() ? ExitCode::no : ExitCode::yes;
}

}  // namespace

void add_channels(CLI::App& app, Context& context) {
  auto options = std::make_shared<ChannelsOptions>();
  auto* command = app.add_subcommand("channels", "what is recognised in a recording, and why");
  command->add_option("log", options->log, "the recording; - is standard input")
      ->required()
      ->type_name("LOG");
  command->add_option("--channels", options->map, "channel map that settles the columns")
      ->type_name("FILE");
  command->add_option("--car", options->car, "the car in the ledger: its layout and kept maps")
      ->type_name("NAME");
  command->add_flag("--keep", options->keep,
                    "keep the map with the car for recordings with these column names");
  command->add_option("--write-map", options->write_map, "write a channel map to edit")
      ->type_name("FILE");
  command->callback([options, &context] { run_channels(*options, context); });
}

}  // namespace stopledger
