#pragma once

#include <span>
#include <string>

#include "plan/session.h"

namespace stopledger {

/// Texts that a plan refers to by id, looked up by the caller.
struct PlanTexts {
  std::vector<std::pair<std::string, std::string>> cautions;  ///< id and text, as in the plan
  std::vector<std::string> stop_conditions;
};

/// Why it blocks, with the number of the record that it rests on: "a lamp was on ... (record 12)".
std::string block_words(const Block& block);

/// "outlet valve FL", "wheel speed rear", "vehicle speed": a column as a person picks it.
std::string column_words(const Role& role);

/// The name that a run's log file should bear: "run05".
std::string run_name(const Run& run);

/// The three lines that tell the driver what will be felt and heard when it works.
std::span<const std::string_view> driver_lines(UnitKind unit);

/// The plan for a terminal or a text file, the answer first. Lines of at most 100 columns.
std::string plan_text(const SessionPlan& plan, const PlanTexts& texts);

}  // namespace stopledger
