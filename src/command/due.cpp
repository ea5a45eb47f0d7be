#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>
#include <mutex>
#include <ostream>
#include <span>
#include <thread>

#include "command/commands.h"
#include "command/ledger_use.h"
#include "procedure/library.h"
#include "record/conflicts.h"
#include "report/due_report.h"
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
    const auto form = options->json         ? DueForm::json
                      : options->with_later ? DueForm::text_with_later
                                            : DueForm::text;
    std::vector<Procedure> procedures;  // read when there is a car to judge
    std::once_flag procedures_read;
    const auto judge = [&](const CarSheet& car, std::span<const Record> records) {
      std::call_once(procedures_read, [&] {
        procedures = load_procedures(own_procedures(context));
        note_overrides(context, procedures);
      });
      return what_is_due(car, records, procedures, on, form != DueForm::text);
    };
    const std::size_t workers = std::max(1U, std::thread::hardware_concurrency());
    std::vector<DueReport> parts(workers, DueReport(form, on));
    if (options->car.empty()) {
      ledger.for_each_active_car(on, workers, [&](const ActiveCar& car) {
        parts[car.worker].add(car.place, judge(car.sheet, car.deciding));
      });
    } else if (const auto car = ledger.car(options->car); car.state == CarState::active) {
      parts.front().add(0, judge(car, ledger.deciding_records_of(options->car, on)));
    }
    auto& report = parts.front();
    for (std::size_t i = 1; i < workers; ++i) report.join(std::move(parts[i]));
    report.write(context.out, unsettled_conflicts(ledger, options->car));
    if (report.any_overdue()) context.exit = ExitCode::no;
  });
}

}  // namespace stopledger
