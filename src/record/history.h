#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/corner.h"
#include "record/record.h"

namespace stopledger {

/// How a record of any kind reads in one line: its fields as written, in the kind's own order.
std::string record_line(const Record& record);

/// The newest standing record of each kind (and subject, see record/kinds.h), newest first.
std::vector<Record> newest_records(std::span<const Record> records);

/// When a corner (or the pump) last answered, and what came after.
struct LastAnswer {
  std::optional<Record> answered;     ///< newest standing record in which it answered
  std::vector<Record> failed_since;   ///< records after it in which it was tried and did not
  std::vector<Record> changed_since;  ///< changes, parts, repairs, fluid, faults after it (all of
                                      ///< them when it never answered)
};

/// Answers for a corner: exercise with the corner "exercised", or a lifted-wheel valve test with
/// its release "yes". For the pump (no corner): exercise with pump "exercised", or a pump run that
/// passed. `records`: one car, any order; those that do not stand are left out.
LastAnswer last_answer(std::span<const Record> records, std::optional<Corner> corner);

/// The same for the control as a whole: it answered when any corner did, and failed when none did
/// and one was tried.
LastAnswer last_control_answer(std::span<const Record> records);

/// The same by the caller's own question: whether a record shows an answer (true), a try without
/// one (false) or does not speak of it. Asked of records that stand, oldest first.
LastAnswer last_answer_by(std::span<const Record> records,
                          const std::function<std::optional<bool>(const Record&)>& answers);

/// What the ledger knows of something that did not answer now.
struct PastAnswer {
  std::string subject;  ///< "RR", "pump", "control", "traction"
  LastAnswer last;
};

}  // namespace stopledger
