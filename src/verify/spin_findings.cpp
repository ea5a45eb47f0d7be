#include "verify/spin_findings.h"

#include <fmt/format.h>

#include "verify/criteria.h"

namespace stopledger {

namespace {

/// The longest clear spin of the driven wheels for which the test holds.
template <typename Test>
const TractionOutcome* clear_spin(const std::vector<JudgedStretch>& stretches, const Test& test) {
  const TractionOutcome* longest = nullptr;
  for (const JudgedStretch& judged : stretches) {
    const auto& traction = judged.stretch.episode.traction;
    if (!traction || traction->spin_s.value_or(0.0) < criteria.clear_spin_s ||
        traction->spin_kmh.value_or(0.0) < criteria.clear_spin_kmh || !test(*traction))
      continue;
    if (!longest || *traction->spin_s > *longest->spin_s) longest = &*traction;
  }
  return longest;
}

}  // namespace

std::optional<Finding> spin_unanswered(const std::vector<JudgedStretch>& stretches) {
  const TractionOutcome* spin = clear_spin(
      stretches, [](const TractionOutcome& traction) { return traction.answered == false; });
  if (!spin) return std::nullopt;
  std::string wheels;
  for (const Corner corner : spin->spun)
    wheels += (wheels.empty() ? "" : " and ") + std::string(corner_name(corner));
  return Finding{
      "control-never-answered", Severity::caution, std::nullopt,
      fmt::format(
          "{} spun for {:.1f} s, up to {:.0f} km/h faster than the car, and nothing in the log "
          "answered: {}no wheel was braked by the unit. The system may be switched off (switch, "
          "lamp), may not work at this speed or not exist on this car, a stored fault may keep "
          "it off, or something changed on the car (tyres, wheels, sensors, wiring, control "
          "unit) may keep it from acting. Look at the lamp and read the stored faults before "
          "any further run, and do not count on stability or traction control until one has "
          "answered.",
          wheels, *spin->spin_s, *spin->spin_kmh,
          spin->torque_cut ? "the torque was not cut and " : "")};
}

std::string spin_unseen(const std::vector<JudgedStretch>& stretches) {
  const TractionOutcome* spin = clear_spin(stretches, [](const TractionOutcome& traction) {
    return !traction.torque_cut || !traction.answered;
  });
  if (!spin) return "";
  std::string advice = "For the wheel spin:";
  if (!spin->torque_cut)
    advice +=
        " whether the torque was cut cannot be seen; record the accelerator pedal and the throttle "
        "plate or the ignition timing.";
  if (!spin->answered)
    advice +=
        " Whether the unit braked a wheel cannot be seen for certain; record the isolation and "
        "prime valves and the driven wheels' inlets.";
  return advice;
}

}  // namespace stopledger
