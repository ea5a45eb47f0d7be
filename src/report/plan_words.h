#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "plan/session.h"

namespace stopledger {

// Words that the text, the printed sheet and the JSON of a plan share.

/// Why it blocks, with the number of the record that it rests on: "a lamp was on ... (record 12)".
std::string block_words(const Block& block);

/// "outlet valve FL", "wheel speed rear", "vehicle speed": a column as a person picks it.
std::string column_words(const Role& role);

/// The name that a run's log file should bear: "run05".
std::string run_name(const Run& run);

/// The three lines that tell the driver what will be felt and heard when it works.
std::span<const std::string_view> driver_lines(UnitKind unit);

/// The columns of a run: "outlet valve FL, vehicle speed".
std::string columns_words(const std::vector<Role>& columns);

/// Whose proof a look is: "FL", "RL+RR".
std::string corners_words(const Look& look);

/// The clock `minutes` after arrival: "10:25"; "+0:25" when the arrival is not known.
std::string clock_words(const SessionPlan& plan, double minutes);

}  // namespace stopledger
