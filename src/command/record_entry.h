#pragma once

#include <string>
#include <vector>

#include "command/context.h"
#include "record/kinds.h"
#include "record/ledger.h"

namespace stopledger {

/// What `record` and `correct` take from the command line about one fact.
struct RecordEntry {
  std::string car, date, odometer, who, signed_by, note;
  std::vector<std::string> fields;
  std::vector<std::string> without;  ///< fields to take away (correct)
};

void add_entry_options(CLI::App& command, RecordEntry& entry);

/// Sets on `record` what the entry gives, checks it against the kind, and turns record numbers in
/// reference fields into uids. Throws Error(usage) that says what is wrong.
void apply_entry(const Context& context, const Ledger& ledger, const Kind& kind,
                 const RecordEntry& entry, Record& record);

}  // namespace stopledger
