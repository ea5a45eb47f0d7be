#pragma once

#include "command/context.h"

namespace stopledger {

// One line per subcommand; the definition is in src/command/NAME.cpp.
void add_check(CLI::App& app, Context& context);
void add_plan(CLI::App& app, Context& context);
void add_calendar(CLI::App& app, Context& context);
void add_due(CLI::App& app, Context& context);
void add_procedures(CLI::App& app, Context& context);
void add_channels(CLI::App& app, Context& context);
void add_car(CLI::App& app, Context& context);
void add_correct(CLI::App& app, Context& context);
void add_files(CLI::App& app, Context& context);
void add_history(CLI::App& app, Context& context);
void add_ledger(CLI::App& app, Context& context);
void add_people(CLI::App& app, Context& context);
void add_record(CLI::App& app, Context& context);
void add_remove(CLI::App& app, Context& context);
void add_rehearse(CLI::App& app, Context& context);

}  // namespace stopledger
