#pragma once

#include <vector>

#include "verify/prepared_log.h"

namespace stopledger {

/// Seconds of a log.
struct TimeSpan {
  double from_s = 0.0, to_s = 0.0;
};

/// Joins spans that lie no more than `gap_s` apart; in time order.
std::vector<TimeSpan> joined_spans(std::vector<TimeSpan> spans, double gap_s);

/// When the samples were on within [from, to], cut to it; nothing when they always were.
std::vector<TimeSpan> spans_of(const Series& series, double from, double to);

/// When a channel of this quantity was seen on at any place within [from, to], cut to it. One that
/// is always on says nothing.
std::vector<TimeSpan> spans_on(const PreparedLog& run, QuantityKind quantity, double from,
                               double to);

}  // namespace stopledger
