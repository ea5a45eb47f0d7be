#pragma once

#include <iosfwd>
#include <string>
#include <vector>

#include "base/day.h"
#include "record/conflicts.h"
#include "record/history.h"

namespace stopledger {

/// What a history is printed from.
struct HistoryView {
  std::string car;
  Day today{};
  bool trail = false;           ///< also corrected and removed records
  std::vector<Record> records;  ///< the whole trail, by day
  std::vector<Record> open_faults;
  std::vector<Conflict> conflicts;  ///< that nobody has settled
  std::string last_digest;  ///< of the whole ledger; printed so that the paper can be checked
};

/// Open faults, then the newest of each kind with its age, then the records.
void write_history(std::ostream& out, const HistoryView& view);
void write_history_json(std::ostream& out, const HistoryView& view);

/// "FL last answered 2026-05-03 (206 days ago) ..."; then what failed and what was changed since.
void write_answer(std::ostream& out, const HistoryView& view, const std::string& subject,
                  const LastAnswer& answer);
void write_answer_json(std::ostream& out, const HistoryView& view, const std::string& subject,
                       const LastAnswer& answer);

/// One record as a JSON document (text), as used by `history --json`.
std::string record_json(const Record& record);

}  // namespace stopledger
