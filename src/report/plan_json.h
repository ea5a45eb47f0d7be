#pragma once

#include <string>

#include "plan/session.h"
#include "report/plan_text.h"

namespace stopledger {

/// The plan as one JSON document, schema "stopledger.plan/1", and as it was printed: `sheet_text`.
/// Numbers that are not known are null, never 0. Unit in each key's end.
std::string plan_json(const SessionPlan& plan, const PlanTexts& texts);

}  // namespace stopledger
