#pragma once

#include "verify/episodes.h"
#include "verify/prepared_log.h"

namespace stopledger {

/// Fills in length (m), MFDD (m/s2) and how far they are known, of a stretch of braking between two
/// points of the reference speed's grid.
///
/// The wheels' upper edge is taken back to the car's speed by its own slip (criteria.edge_*). A
/// stop is measured from the pedal where its switch is logged, else from the slowing. Length and
/// MFDD stay empty where start or end is cut off, or where most of it would be guessed.
/// `controlled`: whether a valve was seen at work. Requires: from + 1 < to.  Does not throw.
void measure_braking(const PreparedLog& run, const ReferenceSpeed& part, std::size_t from,
                     std::size_t to, bool controlled, Stretch& stretch);

}  // namespace stopledger
