#include "verify/check.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <fstream>
#include <memory>
#include <ostream>
#include <sstream>

#include "base/error.h"
#include "base/version.h"
#include "command/commands.h"
#include "command/entry_checks.h"
#include "command/kept_maps.h"
#include "command/ledger_use.h"
#include "command/output_file.h"
#include "command/progress.h"
#include "command/traction_past.h"
#include "log/channel_map.h"
#include "log/reader.h"
#include "procedure/library.h"
#include "record/digest.h"
#include "report/check_html.h"
#include "report/check_json.h"
#include "report/check_text.h"

namespace stopledger {

namespace {

struct CheckOptions {
  std::vector<std::string> logs;
  std::string car, procedure, channels, html, day, who, odometer, note;
  bool json = false, save = false;
};

/// The bytes of a log as they lie on disk, to be kept unchanged.
KeptFile bytes_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream bytes;
  bytes << file.rdbuf();
  if (!file) throw Error(ErrorKind::file, {path}, "cannot be read again to keep it in the ledger");
  return {
      std::filesystem::path(path).filename().string(), std::move(bytes).str(), FileRole::log, {}};
}

Record save(Ledger& ledger, const CheckOptions& options, const CarFacts& car,
            const CheckOutcome& outcome, const std::vector<Log>& logs, Context& context) {
  CheckToSave kept;
  kept.car = car.name;
  kept.day = options.day.empty() ? context.today : past_day(context, "--date", options.day);
  refuse_outside_its_life(ledger, car.name, kept.day, !options.day.empty());
  kept.procedure = options.procedure;
  for (const Log& log : logs) {
    kept.logs.push_back(bytes_of(log.file));
    // What is kept must be what was judged.
    if (sha256_hex(kept.logs.back().bytes) != log.sha256)
      throw Error(ErrorKind::file, {log.file}, "changed while it was being checked; run it again");
  }
  kept.outcome = outcome;
  kept.outcome_json = check_json(outcome, logs);
  kept.engine = version;
  kept.who = who_of(context, options.who);
  kept.note = options.note;
  if (!options.odometer.empty()) {
    Record record;
    set_odometer(record, ledger.car(car.name), options.odometer);
    kept.odometer_km = record.odometer_km;
    kept.odometer_written = options.odometer;
  }
  return ledger.save_check(kept, stamp_of(context, kept.who));
}

/// Yes when every corner asked for is exercised, and enough so for the procedure.
ExitCode answer(const CheckOutcome& outcome, const Expectation* expectation) {
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    if (!one.asked) continue;
    if (one.enough ? !*one.enough : one.result != Result::exercised) return ExitCode::no;
  }
  // No wheel tells of pump and circuit valves, so commanded is all that a log can show of them.
  if (expectation && (expectation->pump_asked || expectation->circuits_asked)) {
    const auto rest = result_of_the_rest(outcome, *expectation);
    if (rest != Result::exercised && rest != Result::commanded) return ExitCode::no;
  }
  return ExitCode::yes;
}

/// What the ledger knows of everything that was tried or asked for here and did not answer.
std::vector<PastAnswer> past_answers(const Ledger& ledger, const std::string& car,
                                     const CheckOutcome& outcome) {
  const auto records = ledger.records_of(car);
  std::vector<PastAnswer> out;
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    if (one.result == Result::suspect || (one.asked && one.result == Result::idle))
      out.push_back({std::string(corner_name(corner)), last_answer(records, corner)});
  }
  if (outcome.pump.result == Result::suspect)
    out.push_back({"pump", last_answer(records, std::nullopt)});
  for (const Finding& finding : outcome.findings)
    if (finding.id == "control-never-answered")
      out.push_back({"traction", last_traction_answer(ledger, records)});
  return out;
}

void run_check(const CheckOptions& options, Context& context) {
  std::optional<Ledger> ledger;
  CarFacts car;
  if (!options.car.empty() || options.save) {
    ledger.emplace(open_ledger(context, options.save ? Ledger::Mode::write : Ledger::Mode::read));
    car = ledger->car(pick_car(*ledger, options.car)).facts;
    if (options.car.empty())
      context.err << fmt::format(
          "stopledger: no --car given: {} is the only active one in the ledger\n", car.name);
  }
  std::optional<Procedure> procedure;
  if (!options.procedure.empty()) {
    procedure = find_procedure(options.procedure, own_procedures(context));
    if (!procedure->expectation)
      throw Error(ErrorKind::usage, "--procedure " + options.procedure +
                                        ": this procedure expects nothing that a log could show");
    note_overrides(context, {&*procedure, 1});
  }
  ReadOptions reading;
  reading.car = car;
  // The text names no digest; the document, the page and what is kept do, and two logs are told
  // apart by it. It takes half as long as all the rest of the reading.
  reading.hash = options.json || options.save || !options.html.empty() || options.logs.size() > 1;
  std::optional<ChannelMap> map;
  std::optional<KeptMaps> kept_maps;
  if (!options.channels.empty()) {
    map = read_channel_map(options.channels);
    reading.map = &*map;
  } else if (ledger) {
    kept_maps.emplace(*ledger, car.name);
    reading.remembered_map = [&](const std::string& wording) { return kept_maps->find(wording); };
  }
  std::vector<Log> logs;
  for (const std::string& path : options.logs) {
    if (options.save && path == "-")
      throw Error(ErrorKind::usage, "--save cannot keep standard input: give the log as a file");
    Progress progress(context);
    reading.progress = progress.reporter();
    logs.push_back(read_log(path, reading));
    reading.progress = {};
    if (kept_maps) note_kept_map(*kept_maps, logs.back());
    // One recording twice would count every release twice.
    for (std::size_t i = 0; i + 1 < logs.size(); ++i)
      if (logs[i].sha256 == logs.back().sha256)
        throw Error(ErrorKind::usage,
                    path + " is the same recording as " + logs[i].file + "; give each one once");
  }
  const Expectation* expectation = procedure ? &*procedure->expectation : nullptr;
  const CheckOutcome outcome = check_logs(logs, car, expectation);
  const auto past = ledger ? past_answers(*ledger, car.name, outcome) : std::vector<PastAnswer>{};
  if (!options.html.empty())
    write_output(context, options.html, check_html(outcome, logs, past), options.logs);
  // Keep first, print last: what is printed as kept is kept.
  std::string kept;
  if (options.save) {
    const Record record = save(*ledger, options, car, outcome, logs, context);
    kept = fmt::format("\nKept in the ledger as record {} of {}.\n", record.id, car.name);
    // What settled the columns once settles them the next time.
    // A car out of use takes nothing new of today.
    const bool in_use = ledger->car(car.name).state == CarState::active;
    if (map)
      for (const Log& log : logs)
        kept += keep_map(*ledger, car.name, in_use ? context.today : record.day, options.channels,
                         log, context);
  }
  context.out << (options.json ? check_json(outcome, logs, past)
                               : check_text(outcome, logs, past) + kept);
  context.exit = answer(outcome, expectation);
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
  command->add_flag("--save", options->save,
                    "keep result and logs in the ledger (--car, unless there is only one)");
  command->add_option("--date", options->day, "day of the session, for --save (default: today)")
      ->type_name("DATE");
  command->add_option("--who", options->who, "who drove, for --save")->type_name("NAME");
  command->add_option("--odometer", options->odometer, "odometer reading, for --save")
      ->type_name("READING");
  command->add_option("--note", options->note, "a note, for --save")->type_name("TEXT");
  command->callback([options, &context] { run_check(*options, context); });
}

}  // namespace stopledger
