#pragma once

#include "judge/control_cases.h"
#include "verify/outcome.h"

namespace stopledger::control_cases {

/// What verification said of some runs, against their truth. Tendency, torque: episodes with a
/// clear truth, of which named right and named wrongly. Braked: wheels, a wrong one is a wheel that
/// the unit did not touch. Unanswered: runs with a spin of more than a second without any answer,
/// torque and valves logged; said by the finding; said although there was an answer, or no spin.
struct Tally {
  int truth = 0, found = 0, false_alarm = 0;
  int tendency = 0, tendency_right = 0, tendency_wrong = 0;
  int braked = 0, braked_right = 0, braked_wrong = 0;
  int cut = 0, cut_right = 0, cut_wrong = 0;
  int unanswered = 0, unanswered_said = 0, unanswered_false = 0;
};

/// Adds one run.
void judge_control_run(const ControlRun& run, const CheckOutcome& outcome, Tally& tally);

}  // namespace stopledger::control_cases
