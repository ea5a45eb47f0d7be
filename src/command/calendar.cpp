#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <memory>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "command/output_file.h"
#include "procedure/library.h"
#include "report/icalendar.h"

namespace stopledger {
void add_calendar(CLI::App& app, Context& context) {
  struct Options {
    std::string file, car, on, form = "events";
  };
  const auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand(
      "calendar", "Writes what is coming as a calendar file; importing it again updates it");
  command->add_option("file", options->file, "the file to write (.ics), or - for the output")
      ->required();
  command->add_option("--car", options->car, "only this car; all cars when left out");
  command->add_option("--on", options->on, "as it will be on that day, instead of today")
      ->type_name("DATE");
  command->add_option("--as", options->form, "events (any telephone) or todos (stay in sight)")
      ->check(CLI::IsMember({"events", "todos"}));
  command->callback([options, &context] {
    const auto ledger = open_ledger(context, Ledger::Mode::read);
    const Day on = day_option(context, "--on", options->on);
    const auto procedures = load_procedures(own_procedures(context));
    const auto [revision, stamp] = ledger.last_entry();
    const Day revised = parse_day(stamp.substr(0, 10)).value_or(on);
    std::vector<CalendarEntry> entries;
    for (const auto& car :
         options->car.empty() ? ledger.cars() : std::vector{ledger.car(options->car)}) {
      auto of_car = calendar_of(car, ledger.records_of(car.facts.name, true), procedures, on,
                                revision, revised);
      std::move(of_car.begin(), of_car.end(), std::back_inserter(entries));
    }
    const auto open = std::count_if(entries.begin(), entries.end(), [](const CalendarEntry& e) {
      return e.status == CalendarEntry::Status::open;
    });
    const auto text =
        icalendar(entries, options->form == "todos" ? CalendarForm::todos : CalendarForm::events,
                  stamp.empty() ? context.now_utc : stamp);
    if (options->file == "-") {
      context.out << text;
      return;
    }
    write_output(context, options->file, text);
    context.out << fmt::format("{}: {} coming, {} closed\n", options->file, open,
                               entries.size() - static_cast<std::size_t>(open));
  });
}

}  // namespace stopledger
