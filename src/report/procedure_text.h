#pragma once

#include <span>
#include <string>

#include "procedure/procedure.h"

namespace stopledger {

/// One line per procedure: id, name, people, how often.
std::string procedure_list_text(std::span<const Procedure> procedures);

/// One procedure to be read at the car: cautions first, then purpose, tools, what comes before,
/// steps, stop conditions, expected movement, interval, sources.
std::string procedure_text(const Procedure& procedure);

/// "schema": "stopledger.procedures/1"; every field, cautions with their text.
std::string procedures_json(std::span<const Procedure> procedures);

/// "every 12 months, in April to June (in the south October to December); after more than 26 weeks
/// of standing".
std::string interval_text(const Interval& interval);

}  // namespace stopledger
