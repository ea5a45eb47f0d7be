#pragma once

#include <functional>
#include <iosfwd>
#include <optional>
#include <span>
#include <string>

#include "base/day.h"
#include "base/exit_code.h"

namespace CLI {
class App;
}

namespace stopledger {

struct Procedure;

/// Everything a command may touch outside its arguments. main.cpp fills it; tests fill their own.
struct Context {
  std::istream& in;
  std::ostream& out;
  std::ostream& err;
  bool err_is_terminal = false;
  Day today{};          ///< the clock's day, or --today
  std::string now_utc;  ///< RFC 3339, for entry stamps
  std::function<std::optional<std::string>(const std::string&)> env;
  std::string ledger_option;           ///< --ledger, "" when not given
  std::string procedures_option = {};  ///< --procedures, "" when not given
  ExitCode exit = ExitCode::yes;       ///< set by the command that ran
};

/// Path of the ledger: --ledger, else STOPLEDGER_FILE, else $XDG_DATA_HOME/stopledger/ledger.db
/// (when that is an absolute path, as the XDG Base Directory Specification asks), else
/// $HOME/.local/share/stopledger/ledger.db. Throws Error(usage) when there is none of these.
std::string ledger_path(const Context& context);

/// True when a person named the ledger: --ledger or STOPLEDGER_FILE.
bool ledger_was_named(const Context& context);

/// A person's own folder of procedures: --procedures, else STOPLEDGER_PROCEDURES, else none.
std::optional<std::string> own_procedures(const Context& context);

/// Says on standard error which of these are a person's own in place of the library's.
void note_overrides(const Context& context, std::span<const Procedure> procedures);

/// Adds one subcommand to the command line; its callback parses, calls and renders.
using AddCommand = void (*)(CLI::App&, Context&);

}  // namespace stopledger
