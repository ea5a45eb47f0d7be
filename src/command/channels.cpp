#include <fmt/format.h>
#include <fmt/ostream.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "command/commands.h"
#include "log/reader.h"

namespace stopledger {
namespace {

/// First few values of a channel as the reader would want to see them.
std::string first_values(const Channel& channel) {
  std::string text;
  for (std::size_t i = 0; i < channel.series.size() && i < 4; ++i)
    text += fmt::format("{}{:.4g}", i == 0 ? "" : " ", channel.series.value[i]);
  return text;
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
  for (const auto& column : log.unused_columns) fmt::print(out, "  not used: \"{}\"\n", column);
  for (const auto& note : log.notes) fmt::print(out, "  note: {}\n", note);
  for (const auto& defect : log.defects)
    fmt::print(out, "  line {}: {}\n", defect.line, defect.what);
}

}  // namespace

void add_channels(CLI::App& app, Context& context) {
  struct Options {
    std::string log;
  };
  auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand("channels", "show what is recognised in a log");
  command->add_option("LOG", options->log, "the log, - for standard input")->required();
  command->callback([options, &context] {
    const Log log = read_log(options->log, {});
    print_channels(log, context.out);
    context.exit = log.channels.empty() ? ExitCode::no : ExitCode::yes;
  });
}

}  // namespace stopledger
