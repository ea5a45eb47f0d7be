#include <algorithm>
#include <cmath>
#include <utility>

#include "verify/findings.h"
#include "verify/log_findings.h"
#include "verify/spin_findings.h"

namespace stopledger {

namespace {

/// What would let lengths and MFDD be stated where they are not. `wheels`: more looks at the wheels
/// are asked for already.
std::vector<std::string> lengths_next(const std::vector<JudgedStretch>& stretches, bool wheels) {
  bool accelerometer = false, looks = false, start = false, pedal = false;
  for (const JudgedStretch& judged : stretches) {
    const Episode& episode = judged.stretch.episode;
    if (episode.kind != EpisodeKind::stop) continue;
    switch (episode.unmeasured) {
      case StopDoubt::none:
        break;
      case StopDoubt::start_cut:
      case StopDoubt::wheels_spun:
        start = true;
        break;
      case StopDoubt::start:
        pedal = true;
        break;
      case StopDoubt::one_speed:
      case StopDoubt::slow_looks:
      case StopDoubt::coarse_speed:
        looks = true;
        break;
      case StopDoubt::all_sunk:
      case StopDoubt::all_locked:
      case StopDoubt::two_locked:
      case StopDoubt::last_metres:
      case StopDoubt::wheel_slip:
      case StopDoubt::wheel_size:
        accelerometer = true;
        break;
    }
  }
  std::vector<std::string> advice;
  if (accelerometer)
    advice.emplace_back(
        "For length and MFDD: the longitudinal accelerometer beside the wheel speeds, 10 looks a "
        "second or more, from two seconds of free rolling before the stop to two seconds of "
        "standing after it. It goes on where wheels lock.");
  if (looks && !wheels)
    advice.emplace_back(
        "For length and MFDD: all four wheel speeds in one run, 15 looks a second or more for each "
        "wheel, in the finest step that the tool offers.");
  if (start)
    advice.emplace_back(
        "For length and MFDD: start the recorder and roll freely for two seconds before the pedal "
        "goes down.");
  if (pedal)
    advice.emplace_back(
        "For length and MFDD: the brake switch beside the wheel speeds, 10 looks a second or more; "
        "the length counts from it.");
  return advice;
}

}  // namespace

std::vector<std::string> record_next(const Session& session, const CheckOutcome& outcome) {
  std::vector<std::string> advice;
  bool fronts = false, rears = false, wheels = false, stop = false;
  for (const JudgedStretch& judged : *session.stretches) stop = stop || judged.stretch.braking;
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    const CornerEvidence& evidence = (*session.evidence)[corner];
    if (!one.asked) continue;
    if (one.result == Result::unseen && stop &&
        !(evidence.valves_visible && evidence.slowest_step_s < 0.03))
      (is_front(corner) ? fronts : rears) = true;
    if ((one.result == Result::commanded || one.result == Result::unseen) && stop &&
        !evidence.wheel_fast)
      wheels = true;
  }
  if (!any_channel(*session.runs)) return advice;  // the columns come first; a finding says so
  if (auto spin = spin_unseen(*session.stretches); !spin.empty()) advice.push_back(std::move(spin));
  if (!stop) {
    advice.emplace_back(
        "Record one whole stop: start the recorder rolling free, stop, wait five seconds, end it; "
        "open the export on the lot before leaving.");
    return advice;
  }
  if (fronts)
    advice.emplace_back(
        "A run with only the two front outlet columns and one speed (or the whole block if the "
        "tool "
        "reads blocks), as many stops as `stopledger plan` says for this recorder.");
  if (rears)
    advice.emplace_back(
        "A run with only the rear outlet columns and one front wheel speed, on the most slippery "
        "permitted surface.");
  if (wheels)
    advice.emplace_back(
        "A run with the four wheel speeds and nothing else, on the same surface from the same "
        "speed, "
        "at 15 looks a second or more for each wheel; give all files of the session to one "
        "`check`.");
  for (std::string& text : lengths_next(*session.stretches, wheels))
    advice.push_back(std::move(text));
  return advice;
}

}  // namespace stopledger
