#pragma once

#include <span>
#include <string>

#include "record/conflicts.h"
#include "schedule/due.h"

namespace stopledger {

/// The answer first ("2 overdue, 1 unknown, 3 due"), then each item with its reason and what
/// stands in the way, last the conflicts that nobody has settled: what is due rests on the records.
/// `with_later` also lists what is not due yet.
std::string due_text(std::span<const DueItem> items, std::span<const Conflict> conflicts, Day on,
                     bool with_later);

/// "schema": "stopledger.due/1"; all items, those not due yet included.
std::string due_json(std::span<const DueItem> items, std::span<const Conflict> conflicts, Day on);

}  // namespace stopledger
