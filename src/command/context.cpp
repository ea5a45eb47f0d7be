#include "command/context.h"

#include <ostream>

#include "base/error.h"
#include "procedure/procedure.h"

namespace stopledger {

std::string ledger_path(const Context& context) {
  if (!context.ledger_option.empty()) return context.ledger_option;
  if (const auto file = context.env("STOPLEDGER_FILE"); file && !file->empty()) return *file;
  if (const auto home = context.env("XDG_DATA_HOME"); home && home->starts_with('/'))
    return *home + "/stopledger/ledger.db";
  if (const auto home = context.env("HOME"); home && !home->empty())
    return *home + "/.local/share/stopledger/ledger.db";
  throw Error(ErrorKind::usage,
              "no place for the ledger: neither HOME nor XDG_DATA_HOME is set; give --ledger FILE "
              "or set STOPLEDGER_FILE");
}

bool ledger_was_named(const Context& context) {
  return !context.ledger_option.empty() || !context.env("STOPLEDGER_FILE").value_or("").empty();
}

std::optional<std::string> own_procedures(const Context& context) {
  if (!context.procedures_option.empty()) return context.procedures_option;
  if (auto folder = context.env("STOPLEDGER_PROCEDURES"); folder && !folder->empty()) return folder;
  return std::nullopt;
}

void note_overrides(const Context& context, std::span<const Procedure> procedures) {
  for (const auto& p : procedures)
    if (p.overrides_library)
      context.err << "stopledger: note: your own " << p.file << " stands in place of the library's "
                  << p.id << "\n";
}

}  // namespace stopledger
