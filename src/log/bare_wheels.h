#pragma once

#include <span>
#include <string>
#include <vector>

namespace stopledger {

/// One column of numbers as written.
struct BareColumn {
  std::span<const double> t_s, value;  ///< of equal length, times not decreasing
};

struct BareVerdict {
  bool speeds = false;
  std::string why;  ///< what decided it, for a note; or what is missing, for a question
};

/// Whether columns that name a wheel and nothing else behave like wheel speeds.
///
/// Taken only where nothing else at a wheel would look so. Beside the car's own speed: where they
/// go with it. Alone: where two or more are alike while they are high, and neither rise nor fall
/// faster than a car can while their top is so high that the pressure under a pedal, which comes
/// and goes in half a second, would have. Everything else is to be asked.
///
/// `own_speed`: the car's own speed, or an empty column.
/// Does not throw.
BareVerdict judge_bare_wheels(const std::vector<BareColumn>& wheels, const BareColumn& own_speed);

}  // namespace stopledger
