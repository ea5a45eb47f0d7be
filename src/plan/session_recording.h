#pragma once

#include "plan/session.h"

namespace stopledger {

/// Releases that the procedures of the route want to see at each corner, the most of them; 1 where
/// none asks.
PerCorner<int> releases_asked(const RouteChoice& route, std::span<const Procedure> procedures);

/// What to record in which run, so that the log answers: sets `looks`, `recording`, `helps`, the
/// amounts aimed at, and notes where not all can be had. Reads the request, the route, the speed
/// and the forecast of the plan.
void choose_recording(SessionPlan& plan, const CarFacts& car,
                      std::span<const Procedure> procedures);

}  // namespace stopledger
