#pragma once

#include <span>
#include <vector>

#include "signal/wheel_trace.h"

namespace stopledger {

/// Cuts a stretch of time where its samples change between many and few a second.
///
/// A long recording is kept in full only around events, so that one even grid for all of it would
/// be too coarse for a stop or hold millions of points of plain driving. What is sampled at most
/// twelve times a second for a minute and more is a piece of its own; the cuts lie two seconds
/// inside it. A recording of one rate is one piece.
///
/// Shape:  pieces in order, the first from `start`, the last to `end`, each from the end of the one
///         before.
std::vector<CarWitness::Span> sampling_pieces(std::span<const WheelTrace> wheels, double start,
                                              double end);

}  // namespace stopledger
