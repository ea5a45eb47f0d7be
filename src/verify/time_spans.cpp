#include "verify/time_spans.h"

#include <algorithm>

#include "verify/criteria.h"

namespace stopledger {

std::vector<TimeSpan> joined_spans(std::vector<TimeSpan> spans, double gap_s) {
  std::sort(spans.begin(), spans.end(),
            [](const TimeSpan& a, const TimeSpan& b) { return a.from_s < b.from_s; });
  std::vector<TimeSpan> out;
  for (const TimeSpan& span : spans)
    if (!out.empty() && span.from_s - out.back().to_s <= gap_s)
      out.back().to_s = std::max(out.back().to_s, span.to_s);
    else
      out.push_back(span);
  return out;
}

std::vector<TimeSpan> spans_of(const Series& series, double from, double to) {
  std::vector<TimeSpan> spans;
  for (const OnRun& on : on_runs(series, criteria.on_duty))
    if (on.first_on_s <= to && on.last_on_s >= from && on.samples < static_cast<int>(series.size()))
      spans.push_back({std::max(on.first_on_s, from), std::min(on.last_on_s, to)});
  return spans;
}

std::vector<TimeSpan> spans_on(const PreparedLog& run, QuantityKind quantity, double from,
                               double to) {
  std::vector<TimeSpan> spans;
  for (const Channel& channel : run.log->channels)
    if (channel.role.quantity == quantity)
      for (const TimeSpan& span : spans_of(channel.series, from, to)) spans.push_back(span);
  return spans;
}

}  // namespace stopledger
