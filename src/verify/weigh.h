#pragma once

#include <vector>

#include "verify/evidence.h"

namespace stopledger {

/// What may lie behind the evidence of one corner.
enum class Explanation {
  cycled,        ///< commanded, and the wheel answered
  release_dead,  ///< outlet does not open, or the inlet does not hold: releases unanswered
  rebuild_dead,  ///< the inlet does not reopen: the wheel stays free under apply
  fading,        ///< answers die out over the stop: pump or accumulator of the circuit
  weak           ///< some releases answered, some not: partly stuck, or caliper or hose slow
};

struct Weighed {
  Explanation explanation;
  double share;  ///< posterior, 0 to 1
};

/// Summary of all release tests of a corner.
struct AnswerTests {
  int tested = 0, answered = 0, unanswered = 0, doubtful = 0, sure = 0, rebuilt = 0,
      not_rebuilt = 0, too_soon = 0, sunk = 0, prompt = 0;
  double unanswered_weight = 0.0, not_rebuilt_weight = 0.0;
  std::vector<double> delays;
};

AnswerTests count_tests(const CornerEvidence& evidence);

/// Whether the wheel was locked longer than is tolerated, by nothing but its own brake.
bool long_lock(const CornerEvidence& evidence);

/// Compares the explanations by the chances they give to what was seen; sums to 1, best first.
/// Empty when nothing was testable.
std::vector<Weighed> weigh_explanations(const CornerEvidence& evidence);

/// Log odds of "answers die out" against "cycled and answered" by this corner's answers alone; 0
/// where they speak against it or say nothing.
double fading_odds(const CornerEvidence& evidence);

}  // namespace stopledger
