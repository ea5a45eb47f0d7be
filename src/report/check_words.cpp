#include "report/check_words.h"

#include <fmt/format.h>

#include <algorithm>

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

std::string episode_figures(const Episode& episode) {
  std::string text;
  if (episode.v_start_kmh && episode.v_end_kmh)
    text += fmt::format(", {:.0f} to {:.0f} km/h", *episode.v_start_kmh, *episode.v_end_kmh);
  if (episode.distance_m) text += fmt::format(", {:.1f} m", *episode.distance_m);
  if (episode.mfdd_mps2) text += fmt::format(", MFDD {:.1f} m/s2", *episode.mfdd_mps2);
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
