#include <algorithm>
#include <string>
#include <vector>

#include "judge/tally.h"
#include "log/reader.h"
#include "model/packed.h"
#include "model/recorder.h"
#include "model/signals.h"
#include "model/simulate.h"
#include "model/truth.h"
#include "verify/check.h"

namespace stopledger::judge {

using model::Cause;
using model::FaultKind;

namespace {

/// Faults that keep a corner from being worked as commanded (others are of sensors or supply).
bool concerns_valves(FaultKind kind) {
  switch (kind) {
    case FaultKind::sensor_dead:
    case FaultKind::sensor_dropout:
    case FaultKind::ring_cracked:
    case FaultKind::sensors_swapped:
    case FaultKind::supply_dip:
    case FaultKind::isolation_stuck_open:
    case FaultKind::prime_stuck_closed:
      return false;
    default:
      return true;
  }
}

CornerTruth truth_of(const model::Case& c, const std::vector<model::Truth>& truths, Corner corner) {
  CornerTruth result;
  for (const model::Truth& truth : truths)
    for (const model::Release& release : truth.corners[corner].releases) {
      ++result.moved;
      if (release.cause == Cause::self_test) result.self_test = true;
      if (release.cause == Cause::rear_balance && release.fell) result.balance_fell = true;
      if (release.cause != Cause::antilock) continue;
      ++result.releases;
      if (release.answered) ++result.slipped;
      if (release.fell) ++result.fell;
      if (release.answered.value_or(false)) ++result.wheel;
      if (release.worked) ++result.worked;
      if (release.fell && release.answered.value_or(false)) ++result.answered;
    }
  for (const model::Truth& truth : truths)
    result.moved += truth.corners[corner].inlet_on_s > 0.0 ? 1 : 0;
  for (const model::Fault& fault : model::acting_faults(c)) {
    const model::FaultPlace place = fault_place(fault.kind);
    const bool sides =
        fault.kind == FaultKind::sensors_swapped && is_front(corner) == is_front(fault.corner);
    const bool here =
        place == model::FaultPlace::car || sides ||
        (place == model::FaultPlace::corner && fault.corner == corner) ||
        (place == model::FaultPlace::circuit && circuit_of(c.car.split, corner) == fault.circuit);
    if (!here && fault.degree >= 0.05) result.fault_elsewhere = true;
    if (!here || fault.degree < 0.05) continue;
    result.any_fault = true;
    result.fault = std::string(model::fault_name(fault.kind));
    result.degree = fault.degree;
    if (fault.degree >= 0.9 && concerns_valves(fault.kind)) result.whole_fault = true;
  }
  return result;
}

}  // namespace

void judge_seed(std::uint64_t seed, model::Split split, Tally& tally) {
  const model::Scenario session = model::scenario(seed, split);
  std::vector<Log> logs;
  std::vector<model::Truth> truths;
  std::vector<double> zeros;
  CarFacts car = car_facts(session.takes.front().c);
  car.sensor_teeth = session.takes.front().recorder.ring_teeth;
  ReadOptions reading;
  reading.car = car;
  double fastest = 0.0;
  bool plain = false, wheels20 = false;
  std::string sampling;
  for (const model::Take& take : session.takes) {
    const model::Run run = model::simulate(take.c, take.run_seed);
    const model::Recording recording = record_run(run, take.c, take.recorder, take.run_seed + 1);
    truths.push_back(find_truth(run, take.c));
    zeros.push_back(recording.first_s);
    const ChannelMap map = packed_map(take.recorder);  // what bits mean no header says
    reading.map = take.recorder.pack_valves ? &map : nullptr;
    logs.push_back(read_log_text(recording.text, std::to_string(seed) + ".csv", reading));
    const auto& recorder = take.recorder;
    const bool block = recorder.sampling == model::Sampling::block;
    double rate = recorder.rate_hz;
    for (std::size_t i = 0; i < recorder.channels.size(); ++i)
      rate = std::min(rate, channel_rate_hz(recorder, i));
    fastest = std::max(fastest, rate);
    bool wheels = true, outlets = true;
    for (const Role& role : model::wheel_speed_roles())
      wheels = wheels && std::find(recorder.channels.begin(), recorder.channels.end(), role) !=
                             recorder.channels.end();
    for (const Role& role : model::outlet_roles(take.c.unit))
      outlets = outlets && std::find(recorder.channels.begin(), recorder.channels.end(), role) !=
                               recorder.channels.end();
    plain = plain || (block && rate >= 50.0 && wheels && outlets);
    wheels20 = wheels20 || (wheels && outlets && rate >= 20.0);
    sampling = block ? "block" : "turns";
  }
  double coarsest_mps = 0.0;
  for (const Log& log : logs)
    for (const Channel& channel : log.channels)
      if (channel.role.quantity == QuantityKind::wheel_speed)
        coarsest_mps = std::max(coarsest_mps, channel.quantum.value_or(0.0));
  // At an axle with one sensor no log shows what the single wheel did.
  const bool own_rear_sensors = session.takes.front().c.unit.sensors == 4;
  const CheckOutcome outcome = check_logs(logs, car, nullptr);
  PerCorner<CornerTruth> truth;
  for (const Corner corner : all_corners)
    truth[corner] = truth_of(session.takes.front().c, truths, corner);
  // One sensor and one pair of valves: what is said of a rear corner is said of its axle.
  if (!own_rear_sensors && session.takes.front().c.unit.channels == 3)
    for (const Corner corner : {Corner::rl, Corner::rr})
      truth[corner].axle_worked = !mostly_failed(truth[axle_partner(corner)]);
  const char* band = fastest < 3     ? "  < 3 Hz"
                     : fastest < 10  ? " 3-10 Hz"
                     : fastest < 20  ? "10-20 Hz"
                     : fastest < 50  ? "20-50 Hz"
                     : fastest < 150 ? "50-150 Hz"
                                     : "> 150 Hz";
  for (const Corner corner : all_corners)
    tally.rows.push_back({seed, corner, truth[corner], outcome.corners[corner], band, sampling,
                          fastest, plain && (is_front(corner) || own_rear_sensors), wheels20,
                          coarsest_mps <= 0.51 / 3.6});
  for (std::size_t k = 0; k < logs.size(); ++k)
    compare_stops(seed, session.takes[k], truths[k], zeros[k], outcome.episodes, k, tally.stops);
}

}  // namespace stopledger::judge
