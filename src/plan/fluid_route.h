#pragma once

#include "plan/route.h"
#include "schedule/history.h"

namespace stopledger {

/// What came since the last exercise: storage, and work on the unit.
struct Standing {
  int days = 0;
  const Record* begin = nullptr;
  bool still = false;                 ///< not brought back yet
  const Record* unit_work = nullptr;  ///< newest repair or part of the unit, not driven on since
};

Standing last_standing(const History& history);

/// Sets route, reason and the flushes done, from the fluid's age, its tests and the standing.
///
/// A route that was begun is gone to its end, exercise and re-flush: fresh fluid in the lines does
/// not make the fluid that is trapped in the unit young.
/// `limit`: months after which fluid is due.
void choose_by_fluid(RouteChoice& choice, const History& history, int limit, const Standing& stood);

}  // namespace stopledger
