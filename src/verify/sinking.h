#pragma once

#include "verify/commands.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// Whether all wheels may have gone down into slip together in a stop under control, so that the
/// fastest of them says nothing of the car: the speed read from them rises within the braking,
/// which no braked car's does, or it falls far more steeply at the end than under control before
/// (a surface that grips so much better would have let the wheels come up first). Asked only where
/// the wheels are looked at less than `criteria.plenty_hz`: closer looks show the wheels part.
///
/// [from, to]: where the braking was fast enough to judge. False without two corners of three
/// releases each, and for shorter stops than `criteria.sinking_least_s`.
bool all_may_have_sunk(const PreparedLog& run, const PerCorner<Commands>& commands, double from_s,
                       double to_s);

}  // namespace stopledger
