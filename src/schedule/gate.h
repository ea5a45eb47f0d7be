#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/day.h"
#include "procedure/procedure.h"
#include "record/record.h"

namespace stopledger {

/// Something that stands in the way of a procedure.
struct Block {
  /// "lamp", "pedal", "leak", "level", "fault", "failed-test", "not-answered", "fluid-grade",
  /// "fluid-test", "after-run", "storage", "unit-kind", "store", "sheet", "before" (another
  /// procedure comes first).
  std::string id;
  bool hard = true;           ///< blocks; false only advises
  bool may_override = false;  ///< with a written reason that is kept
  bool same_day =
      false;  ///< a check of the day itself: on the list to go through, not a blocker yet
  std::string procedure;       ///< id of the procedure that would clear it, or ""
  std::string reason;          ///< one sentence
  std::string record;          ///< uid of the record that blocks; "" when it is the lack of one
  std::int64_t record_id = 0;  ///< its number in this ledger; 0 when there is none
  std::optional<Day> day;      ///< of that record
  std::string clears;          ///< what would clear it
};

/// What stands in the way of doing `procedure` with this car on day `on`: hard ones first.
///
/// `records`: as what_is_due. The permission for the lot and its length are the plan's matter.
std::vector<Block> blocks(const CarSheet& car, std::span<const Record> records,
                          std::span<const Procedure> procedures, const Procedure& procedure,
                          Day on);

}  // namespace stopledger
