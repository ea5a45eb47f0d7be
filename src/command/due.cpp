#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>
#include <optional>
#include <ostream>
#include <span>
#include <tuple>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "procedure/library.h"
#include "record/conflicts.h"
#include "report/due_text.h"
#include "schedule/due.h"

namespace stopledger {

void add_due(CLI::App& app, Context& context) {
  struct Options {
    std::string car, on;
    bool with_later = false, json = false;
  };
  const auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand(
      "due", "What is due, most urgent first; exit status 1 when something is overdue");
  command->add_option("--car", options->car, "only this car; all cars when left out");
  command->add_option("--on", options->on, "as it will be on that day, instead of today")
      ->type_name("DATE");
  command->add_flag("--all", options->with_later, "with what is not due yet");
  command->add_flag("--json", options->json, "as JSON");
  command->callback([options, &context] {
    const auto ledger = open_ledger(context, Ledger::Mode::read);
    const Day on = day_option(context, "--on", options->on);
    std::vector<DueItem> items;
    std::optional<std::vector<Procedure>> procedures;  // read when there is a car to judge
    const auto add = [&](const CarSheet& car, std::span<const Record> deciding) {
      if (car.state != CarState::active) return;
      if (!procedures) {
        procedures = load_procedures(own_procedures(context));
        note_overrides(context, *procedures);
      }
      const auto judge = [&](std::span<const Record> records) {
        return what_is_due(car, records, *procedures, on, options->with_later || options->json);
      };
      // What decides now says nothing of a day before the newest record.
      const bool back_then = !deciding.empty() && deciding.back().day > on;
      auto of_car = back_then ? judge(ledger.records_of(car.facts.name, true)) : judge(deciding);
      std::move(of_car.begin(), of_car.end(), std::back_inserter(items));
    };
    if (options->car.empty()) {
      ledger.for_each_active_car(add);
    } else {
      add(ledger.car(options->car), ledger.deciding_records_of(options->car));
    }
    std::stable_sort(items.begin(), items.end(), [](const DueItem& a, const DueItem& b) {
      return std::tie(a.state, a.due) < std::tie(b.state, b.due);
    });
    const auto conflicts = unsettled_conflicts(ledger, options->car);
    context.out << (options->json ? due_json(items, conflicts, on)
                                  : due_text(items, conflicts, on, options->with_later));
    if (!items.empty() && items.front().state == DueState::overdue) context.exit = ExitCode::no;
  });
}

}  // namespace stopledger
