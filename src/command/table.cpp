#include "command/table.h"

#include <algorithm>
#include <array>
#include <string_view>

#include "command/commands.h"

namespace stopledger {

namespace {

struct Command {
  std::string_view name;
  AddCommand add;
};

constexpr std::array commands{
    // One row per subcommand, one file each in src/command/.
    // clang-format off
    Command{"check", add_check},
    Command{"plan", add_plan},
    Command{"due", add_due},
    Command{"calendar", add_calendar},
    Command{"rehearse", add_rehearse},
    Command{"procedures", add_procedures},
    Command{"channels", add_channels},
    Command{"car", add_car},
    Command{"record", add_record},
    Command{"history", add_history},
    Command{"people", add_people},
    Command{"correct", add_correct},
    Command{"remove", add_remove},
    Command{"files", add_files},
    Command{"ledger", add_ledger},
    // clang-format on
};

}  // namespace

void add_commands_named(CLI::App& app, Context& context, std::span<const std::string> words) {
  for (const auto& command : commands)
    if (std::find(words.begin(), words.end(), command.name) != words.end())
      command.add(app, context);
}

void add_all_commands(CLI::App& app, Context& context) {
  for (const auto& command : commands) command.add(app, context);
}

}  // namespace stopledger
