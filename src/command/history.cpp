#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "command/traction_past.h"
#include "record/kinds.h"
#include "report/history_report.h"

namespace stopledger {

void add_history(CLI::App& app, Context& context) {
  struct Options {
    std::string car, kind, corner;
    bool trail = false, json_out = false;
  };
  auto* command = app.add_subcommand(
      "history", "What the ledger knows of a car: the current state, and the trail on request");
  const auto options = std::make_shared<Options>();
  command->add_option("--car", options->car, "the car; not needed when there is only one");
  command->add_option("--kind", options->kind, "only this kind of record");
  command->add_option("--answered", options->corner,
                      "FL, FR, RL, RR, pump, control or traction: when did it last answer, and "
                      "what was changed since");
  command->add_flag("--trail", options->trail, "with corrected and removed records");
  command->add_flag("--json", options->json_out, "as JSON");
  command->callback([options, &context] {
    const auto ledger = open_ledger(context, Ledger::Mode::read);
    HistoryView view;
    view.car = pick_car(ledger, options->car);
    view.today = context.today;
    view.trail = options->trail;
    view.records = ledger.records_of(view.car, true);
    view.open_faults = ledger.open_faults(view.car);
    view.conflicts = unsettled_conflicts(ledger, view.car);
    view.last_digest = ledger.last_digest();
    if (!options->kind.empty()) {
      const auto& kind = find_kind(options->kind);
      std::erase_if(view.records, [&](const Record& record) { return record.kind != kind.name; });
    }
    if (!options->corner.empty()) {
      const auto corner = parse_corner(options->corner);
      const bool control = options->corner == "control";
      const bool traction = options->corner == "traction";
      if (!corner && !control && !traction && options->corner != "pump")
        throw Error(
            ErrorKind::usage,
            fmt::format("--answered: \"{}\" is not FL, FR, RL, RR, pump, control or traction",
                        options->corner));
      const auto answer = control    ? last_control_answer(view.records)
                          : traction ? last_traction_answer(ledger, view.records)
                                     : last_answer(view.records, corner);
      if (!answer.answered) context.exit = ExitCode::no;
      const std::string subject(corner ? corner_name(*corner) : options->corner);
      return options->json_out ? write_answer_json(context.out, view, subject, answer)
                               : write_answer(context.out, view, subject, answer);
    }
    options->json_out ? write_history_json(context.out, view) : write_history(context.out, view);
  });
}

}  // namespace stopledger
