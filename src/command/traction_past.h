#pragma once

#include <span>

#include "record/history.h"
#include "record/ledger.h"

namespace stopledger {

/// When stability or traction control last acted in a check kept in the ledger, what failed and
/// what was changed since. `records`: those of one car.
LastAnswer last_traction_answer(const Ledger& ledger, std::span<const Record> records);

}  // namespace stopledger
