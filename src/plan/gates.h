#pragma once

#include <span>
#include <string>

#include "plan/session.h"

namespace stopledger {

/// What a request itself lacks; nothing gets past it.
struct Lack {
  std::string id, reason, clears;
};

void block(SessionPlan& plan, Lack lack);

/// What stands in the way by the car and its records: the gates of every procedure that the route
/// leads through and that is driven that day or opens the system. Checks of the day itself are on
/// its list instead. Those that the request overrides go to `overridden`, with the reason.
void gather_gates(SessionPlan& plan, const CarSheet& car, std::span<const Record> records,
                  std::span<const Procedure> procedures);

/// Blocks ground that is fit for no session, advises against ground that the stops are not made
/// for.
void judge_surface(SessionPlan& plan, std::span<const Procedure> procedures);

/// Takes the stations that were overridden out of the route, and compares its earliest session with
/// the day planned: on fluid of unknown state the route comes first, else it is advised.
void follow_route(SessionPlan& plan);

/// Sunrise and sunset, when the request names the place; blocks work in the dark. Reads the
/// timetable.
void judge_daylight(SessionPlan& plan);

/// Call when all blocks are found.
/// Errors: refused, for an override of what nothing overrides; usage, for one of nothing, and for a
/// kind of block that stands for several, which need a reason each.
void refuse_idle_overrides(const SessionPlan& plan);

}  // namespace stopledger
