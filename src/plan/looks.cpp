#include <algorithm>

#include "plan/session.h"

namespace stopledger {
namespace {

constexpr double any_gap_s = 1e6;
constexpr int answers_needed = 2;  // one can be a bump in the road

QuantityKind valve_column(UnitKind unit) {
  return unit == UnitKind::three_position ? QuantityKind::valve : QuantityKind::outlet;
}

}  // namespace

std::vector<Look> session_looks(const CarFacts& car, const RunForecast& forecast,
                                const PerCorner<int>& releases) {
  std::vector<Look> looks;
  const int channels = car.channels.value_or(4);
  const bool joint_rear = channels == 3;
  // Motor-driven pistons have no valve commands to log: only the wheels can tell.
  if (car.unit_kind != UnitKind::motor_piston) {
    const QuantityKind valve = valve_column(car.unit_kind);
    const auto release = [&](Role role, std::vector<Corner> corners, Corner weakest) {
      int needed = 1;
      for (const Corner corner : corners) needed = std::max(needed, releases[corner]);
      looks.push_back({role, std::move(corners), forecast.releases[weakest], needed, 0.0});
    };
    if (channels >= 2) {
      for (const Corner front : {Corner::fl, Corner::fr}) {
        std::vector<Corner> corners{front};
        // Two channels: the rear wheel across hangs on its front wheel's valves.
        if (channels == 2) corners.push_back(diagonal_partner(front));
        release(Role::at(valve, front), std::move(corners), front);
      }
    }
    if (channels == 1 || joint_rear) {
      release(Role::rear(valve), {Corner::rl, Corner::rr}, Corner::rl);
    } else if (channels == 4) {
      for (const Corner rear : {Corner::rl, Corner::rr})
        release(Role::at(valve, rear), {rear}, rear);
    }
  }
  const int sensors = car.sensors.value_or(4);
  const auto answer = [&](Role role, std::vector<Corner> corners, Corner weakest) {
    // Looked at often enough, every release that happens shows its answer: as long as any gap.
    std::vector<Pulses> swings;
    for (const int count : forecast.release_counts[weakest])
      swings.emplace_back(static_cast<std::size_t>(count), any_gap_s);
    looks.push_back({role, std::move(corners), std::move(swings), answers_needed,
                     forecast.answer_rate_hz, answer_stops});
  };
  for (const Corner front : {Corner::fl, Corner::fr})
    if (channels != 1) answer(Role::at(QuantityKind::wheel_speed, front), {front}, front);
  if (sensors == 4) {
    for (const Corner rear : {Corner::rl, Corner::rr})
      answer(Role::at(QuantityKind::wheel_speed, rear), {rear}, rear);
  } else {
    answer(Role::rear(QuantityKind::wheel_speed), {Corner::rl, Corner::rr}, Corner::rl);
  }
  return looks;
}

}  // namespace stopledger
