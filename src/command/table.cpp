#include "command/table.h"

#include <array>
#include <vector>

#include "command/commands.h"

namespace stopledger {

std::span<const AddCommand> command_table() {
  static const std::vector<AddCommand> table{
      // One row per subcommand, one file each in src/command/.
      // clang-format off
      add_check,
      add_plan,
      add_due,
      add_calendar,
      add_rehearse,
      add_procedures,
      add_channels,
      add_car,
      add_record,
      add_history,
      add_people,
      add_correct,
      add_remove,
      add_files,
      add_ledger,
      // clang-format on
  };
  return table;
}

}  // namespace stopledger
