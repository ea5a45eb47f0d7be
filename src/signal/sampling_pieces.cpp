#include "signal/sampling_pieces.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace stopledger {
namespace {

// Chosen: plain driving is kept ten times a second, and one more or less may fall into a second.
constexpr std::size_t most_of_few = 12;
// Chosen: shorter ones save nothing.
constexpr double least_piece_s = 60.0;
constexpr double margin_s = 2.0;

}  // namespace

std::vector<CarWitness::Span> sampling_pieces(std::span<const WheelTrace> wheels, double start,
                                              double end) {
  if (!(end - start >= least_piece_s)) return {{start, end}};
  // Per second: the samples of the trace that has most.
  const auto seconds = static_cast<std::size_t>(std::ceil(end - start));
  std::vector<std::size_t> samples(seconds, 0), of_one(seconds);
  for (const WheelTrace& wheel : wheels) {
    std::fill(of_one.begin(), of_one.end(), 0);
    for (const double t : wheel.t_s)
      if (t >= start && t < end)
        ++of_one[std::min(seconds - 1, static_cast<std::size_t>(t - start))];
    for (std::size_t i = 0; i < seconds; ++i) samples[i] = std::max(samples[i], of_one[i]);
  }
  std::vector<CarWitness::Span> pieces;
  double from = start;
  const auto cut = [&](double at) {
    if (at <= from || at >= end) return;
    pieces.push_back({from, at});
    from = at;
  };
  for (std::size_t i = 0; i < seconds;) {
    std::size_t after = i;
    while (after < seconds && samples[after] <= most_of_few) ++after;
    if (static_cast<double>(after - i) >= least_piece_s) {
      if (i > 0) cut(start + static_cast<double>(i) + margin_s);
      if (after < seconds) cut(start + static_cast<double>(after) - margin_s);
    }
    i = after + 1;
  }
  pieces.push_back({from, end});
  return pieces;
}

}  // namespace stopledger
