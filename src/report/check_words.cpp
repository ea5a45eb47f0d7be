#include "report/check_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/check_json.h"
#include "verify/criteria.h"

namespace stopledger {

namespace {

std::string corner_list(const std::vector<Corner>& corners) {
  std::string text;
  for (const Corner corner : corners)
    text += (text.empty() ? "" : " and ") + std::string(corner_name(corner));
  return text;
}

std::string stability_figures(const StabilityOutcome& stability) {
  std::string text;
  if (stability.tendency != Tendency::none)
    text += fmt::format(", {}", tendency_name(stability.tendency));
  if (!stability.braked.empty()) text += fmt::format(", {} braked", corner_list(stability.braked));
  if (!stability.expected.empty())
    text += fmt::format(" (usual: {}; designs vary)", corner_list(stability.expected));
  if (stability.yaw_left_1s)
    text += fmt::format(", yaw rate {:.0f} % of its peak 1.00 s after the steering came back",
                        100.0 * *stability.yaw_left_1s);
  if (stability.yaw_left_1_75s)
    text += fmt::format(
        ", {:.0f} % {}", 100.0 * *stability.yaw_left_1_75s,
        stability.yaw_left_1s ? "after 1.75 s" : "of its peak 1.75 s after the steering came back");
  return text;
}

std::string traction_figures(const TractionOutcome& traction) {
  std::string text;
  if (traction.spin_s && traction.spin_kmh)
    text += fmt::format(", {} spun for {:.1f} s, up to {:.0f} km/h faster than the car",
                        corner_list(traction.spun), *traction.spin_s, *traction.spin_kmh);
  if (traction.torque_cut)
    text += *traction.torque_cut ? ", torque cut" : ", torque not cut";
  else
    text += ", torque not seen";
  if (!traction.braked.empty())
    text += fmt::format(", {} braked by the unit", corner_list(traction.braked));
  if (traction.answered == false) text += ", no answer";
  return text;
}

/// "(+-4 %)": 95 % bounds, rounded up.
std::string give_or_take(double share) {
  return fmt::format("(+-{:.0f} %)", std::ceil(100.0 * share));
}

std::string unmeasured_reason(const Episode& episode) {
  switch (episode.unmeasured) {
    case StopDoubt::start_cut:
      return "the car was braked already when the log began";
    case StopDoubt::one_speed:
      return "with one speed only, slip cannot be told from the car's slowing";
    case StopDoubt::wheels_spun:
      return "wheels spun up just before, so the speed that it began from is not known";
    case StopDoubt::all_locked:
      return fmt::format("every wheel stood for {:.1f} s while the car went on", episode.carried_s);
    case StopDoubt::all_sunk:
      return "all wheels may have gone down into slip together, and the car's speed is not known";
    case StopDoubt::two_locked:
      return fmt::format("two wheels or more were locked for {:.1f} s", episode.two_locked_s);
    case StopDoubt::slow_looks:
      return "too few looks a second at the speeds";
    case StopDoubt::start:
      return "when the pedal went down is not seen closely enough";
    case StopDoubt::last_metres:
      return "the last metres, where control ends and wheels lock, are too much of so slow a stop";
    case StopDoubt::coarse_speed:
      return "the speeds are too coarse or too noisy";
    case StopDoubt::none:
    case StopDoubt::wheel_slip:
    case StopDoubt::wheel_size:
      break;
  }
  return "how deep even the best wheel slipped is not known closely enough";
}

}  // namespace

CheckAnswer check_answer(const CheckOutcome& outcome) {
  std::string names, faulty;
  int asked = 0, good = 0;
  for (const Corner corner : all_corners) {
    const CornerOutcome& one = outcome.corners[corner];
    if (!one.asked) continue;
    ++asked;
    if (one.enough.value_or(one.result == Result::exercised))
      ++good;
    else
      names += (names.empty() ? "" : ", ") + std::string(corner_name(corner));
    if (one.result == Result::suspect)
      faulty += (faulty.empty() ? "" : ", ") + std::string(corner_name(corner));
  }
  const bool fault =
      std::any_of(outcome.findings.begin(), outcome.findings.end(),
                  [](const Finding& one) { return one.severity == Severity::fault; });
  CheckAnswer answer;
  if (good == asked)
    answer.answer = fmt::format(
        "YES: all {} corners asked for {}.", asked,
        outcome.result == Result::exercised ? "are exercised" : "did what the procedure asks for");
  else
    answer.answer = fmt::format("NO: {} of {} corners exercised; not {}.", good, asked, names);
  if (!faulty.empty())
    answer.warning = fmt::format(
        "DO NOT DRIVE: {} did not answer as it should. Have it looked at by a licensed technician.",
        faulty);
  else if (fault)
    answer.warning =
        "DO NOT DRIVE: a fault was found, see the findings. Have it looked at by a licensed "
        "technician.";
  return answer;
}

std::string corner_figures(const CornerOutcome& corner) {
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : ", ") + part; };
  if (corner.cycle_rate_hz) add(fmt::format("{:.1f} cycles/s", *corner.cycle_rate_hz));
  if (corner.response_delay_s) add(fmt::format("answer after {:.2f} s", *corner.response_delay_s));
  if (corner.peak_slip) add(fmt::format("deepest slip {:.0f} %", 100.0 * *corner.peak_slip));
  if (corner.locked_s && *corner.locked_s > 0.0)
    add(fmt::format("locked {:.2f} s", *corner.locked_s));
  if (corner.confidence)
    add(fmt::format("sure to {:.1f} %", std::min(99.9, 100.0 * *corner.confidence)));
  return text;
}

std::string_view unmeasured_name(StopDoubt doubt) {
  switch (doubt) {
    case StopDoubt::none:
      return "";
    case StopDoubt::start_cut:
      return "start-cut";
    case StopDoubt::one_speed:
      return "one-speed";
    case StopDoubt::wheels_spun:
      return "wheels-spun";
    case StopDoubt::all_locked:
      return "all-locked";
    case StopDoubt::all_sunk:
      return "all-sunk";
    case StopDoubt::two_locked:
      return "two-locked";
    case StopDoubt::slow_looks:
      return "slow-looks";
    case StopDoubt::start:
      return "start-unknown";
    case StopDoubt::last_metres:
      return "last-metres";
    case StopDoubt::wheel_slip:
      return "wheel-slip";
    case StopDoubt::coarse_speed:
      return "coarse-speed";
    case StopDoubt::wheel_size:
      break;
  }
  return "wheel-size";
}

std::string episode_figures(const Episode& episode) {
  std::string text;
  if (episode.v_start_kmh && episode.v_end_kmh)
    text += fmt::format(", {:.0f} to {:.0f} km/h", *episode.v_start_kmh, *episode.v_end_kmh);
  if (episode.distance_m)
    text += fmt::format(", {:.1f} m {}", *episode.distance_m, give_or_take(episode.distance_share));
  if (episode.mfdd_mps2)
    text +=
        fmt::format(", MFDD {:.1f} m/s2 {}", *episode.mfdd_mps2, give_or_take(episode.mfdd_share));
  if (episode.unmeasured != StopDoubt::none && episode.kind == EpisodeKind::stop)
    text += fmt::format(", {} not stated: {}",
                        episode.distance_m  ? "MFDD"
                        : episode.mfdd_mps2 ? "length"
                                            : "length and MFDD",
                        unmeasured_reason(episode));
  if (episode.distance_m && episode.estimated)
    text +=
        episode.carried_s > criteria.carried_s
            ? fmt::format(" (estimated: every wheel stood for {:.1f} s of it)", episode.carried_s)
            : fmt::format(" (estimated: two wheels or more were locked for {:.1f} s of it)",
                          episode.two_locked_s);
  if (episode.modulated) text += *episode.modulated ? ", control at work" : ", control not at work";
  if (episode.stability) text += stability_figures(*episode.stability);
  if (episode.traction) text += traction_figures(*episode.traction);
  return text;
}

}  // namespace stopledger
