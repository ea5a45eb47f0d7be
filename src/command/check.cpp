#include "verify/check.h"

#include <CLI/CLI.hpp>
#include <fstream>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "log/reader.h"
#include "procedure/library.h"
#include "report/check_html.h"
#include "report/check_json.h"
#include "report/check_text.h"

namespace stopledger {

namespace {

struct CheckOptions {
  std::vector<std::string> logs;
  std::string car, procedure, channels, html;
  bool json = false, save = false;
};

/// Yes when every corner asked for is exercised, and enough so for the procedure.
ExitCode answer(const CheckOutcome& outcome) {
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    if (!one.asked) continue;
    if (one.enough ? !*one.enough : one.result != Result::exercised) return ExitCode::no;
  }
  return ExitCode::yes;
}

void write_file(const std::string& path, const std::string& content) {
  std::ofstream file(path, std::ios::binary);
  file << content;
  file.close();
  if (!file)
    throw Error(ErrorKind::file, {path},
                "cannot be written: check that the folder exists and has room");
}

void run_check(const CheckOptions& options, Context& context) {
  CarFacts car;
  ReadOptions reading;
  reading.car = car;
  std::vector<Log> logs;
  for (const std::string& path : options.logs) logs.push_back(read_log(path, reading));

  std::optional<Procedure> procedure;
  if (!options.procedure.empty()) {
    procedure = find_procedure(options.procedure, own_procedures(context));
    if (!procedure->expectation)
      throw Error(ErrorKind::usage, "--procedure " + options.procedure +
                                        ": this procedure expects nothing that a log could show");
  }
  const CheckOutcome outcome =
      check_logs(logs, car, procedure ? &*procedure->expectation : nullptr);
  if (!options.html.empty()) write_file(options.html, check_html(outcome, logs));
  context.out << (options.json ? check_json(outcome, logs) : check_text(outcome, logs));
  context.exit = answer(outcome);
}

}  // namespace

void add_check(CLI::App& app, Context& context) {
  auto options = std::make_shared<CheckOptions>();
  auto* command =
      app.add_subcommand("check", "did every corner's valves work in these recordings?");
  command
      ->add_option("logs", options->logs,
                   "recordings of one session (delimited text; - is standard input)")
      ->required()
      ->type_name("LOG");
  command->add_option("--car", options->car, "the car in the ledger")->type_name("NAME");
  command->add_option("--procedure", options->procedure, "judge by this procedure")
      ->type_name("ID");
  command->add_option("--channels", options->channels, "channel map that settles the columns")
      ->type_name("FILE");
  command->add_option("--html", options->html, "also write a page to look at or print")
      ->type_name("FILE");
  command->add_flag("--json", options->json, "one JSON document and nothing else");
  command->add_flag("--save", options->save, "keep result and logs in the ledger (needs --car)");
  command->callback([options, &context] { run_check(*options, context); });
}

}  // namespace stopledger
