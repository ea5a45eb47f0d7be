#pragma once

#include <vector>

#include "verify/evidence.h"

namespace stopledger {

/// Finds valve columns that belong to another wheel: for every valve and wheel the slip just before
/// each release, compared with that wheel's usual slip in the stop. Where a valve works when
/// another wheel slips and not its own, and the other's valve the other way round, both corners are
/// marked as swapped.
void mark_swapped(const PreparedLog& run, const PerCorner<Commands>& commands,
                  std::vector<JudgedStretch>& stretches);

}  // namespace stopledger
