#pragma once

#include <string>
#include <utility>
#include <vector>

#include "plan/session.h"

namespace stopledger {

/// Texts that a plan refers to by id, looked up by the caller.
struct PlanTexts {
  std::vector<std::pair<std::string, std::string>> cautions;  ///< id and text, as in the plan
  std::vector<std::string> stop_conditions;
};

/// The plan for a terminal or a text file, the answer first. Lines of at most 100 columns.
std::string plan_text(const SessionPlan& plan, const PlanTexts& texts);

}  // namespace stopledger
