#pragma once

#include "plan/session.h"

namespace stopledger {

/// What to record in which run, so that the log answers: sets `looks`, `recording`, `helps`, and
/// notes where not all can be had. Reads the request, the speed and the forecast of the plan.
void choose_recording(SessionPlan& plan, const CarFacts& car);

}  // namespace stopledger
