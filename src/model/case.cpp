#include "model/case.h"

#include <array>
#include <utility>

namespace stopledger::model {
namespace {

struct FaultRow {
  FaultKind kind;
  std::string_view name;
  FaultPlace place;
};

constexpr std::array<FaultRow, 22> fault_rows{{
    {FaultKind::outlet_stuck_closed, "outlet-stuck-closed", FaultPlace::corner},
    {FaultKind::outlet_slow, "outlet-slow", FaultPlace::corner},
    {FaultKind::outlet_leaking, "outlet-leaking", FaultPlace::corner},
    {FaultKind::inlet_stuck_closed, "inlet-stuck-closed", FaultPlace::corner},
    {FaultKind::inlet_slow_to_reopen, "inlet-slow-to-reopen", FaultPlace::corner},
    {FaultKind::inlet_leaking, "inlet-leaking", FaultPlace::corner},
    {FaultKind::inlet_stuck_open, "inlet-stuck-open", FaultPlace::corner},
    {FaultKind::pump_dead, "pump-dead", FaultPlace::car},
    {FaultKind::pump_weak, "pump-weak", FaultPlace::car},
    {FaultKind::pump_piston_dead, "pump-piston-dead", FaultPlace::circuit},
    {FaultKind::accumulator_stuck, "accumulator-stuck", FaultPlace::circuit},
    {FaultKind::air, "air", FaultPlace::corner},
    {FaultKind::brake_slow_to_release, "brake-slow-to-release", FaultPlace::corner},
    {FaultKind::never_commanded, "never-commanded", FaultPlace::corner},
    {FaultKind::sensor_dead, "sensor-dead", FaultPlace::corner},
    {FaultKind::sensor_dropout, "sensor-dropout", FaultPlace::corner},
    {FaultKind::ring_cracked, "ring-cracked", FaultPlace::corner},
    {FaultKind::sensors_swapped, "sensors-swapped", FaultPlace::corner},
    {FaultKind::supply_dip, "supply-dip", FaultPlace::car},
    {FaultKind::control_off, "control-off", FaultPlace::car},
    {FaultKind::isolation_stuck_open, "isolation-stuck-open", FaultPlace::circuit},
    {FaultKind::prime_stuck_closed, "prime-stuck-closed", FaultPlace::circuit},
}};

const FaultRow& row_of(FaultKind kind) {
  for (const FaultRow& row : fault_rows)
    if (row.kind == kind) return row;
  return fault_rows.front();
}

}  // namespace

std::string_view fault_name(FaultKind kind) { return row_of(kind).name; }
FaultPlace fault_place(FaultKind kind) { return row_of(kind).place; }

std::vector<Fault> acting_faults(const Case& c) {
  using enum FaultKind;
  std::vector<Fault> faults = c.faults;
  if (c.unit.channels != 3 && c.unit.channels != 1) return faults;
  for (const Fault& fault : c.faults) {
    const bool valve = (fault.kind >= outlet_stuck_closed && fault.kind <= inlet_stuck_open) ||
                       fault.kind == never_commanded;
    if (!valve || is_front(fault.corner)) continue;
    faults.push_back(fault);
    faults.back().corner = axle_partner(fault.corner);
  }
  return faults;
}

CarFacts car_facts(const Case& c) {
  CarFacts facts = c.car.facts;
  facts.unit_kind = c.unit.kind;
  facts.split = c.car.split;
  facts.drive = c.car.drive;
  facts.channels = c.unit.channels;
  facts.sensors = c.unit.sensors;
  facts.rear_select_low = c.unit.channels == 3 || c.controller.rear_select_low;
  facts.has_isolation_valves = c.unit.has_isolation_valves;
  facts.rolling_radius_m = c.car.rolling_radius_m;
  facts.wheelbase_m = c.car.wheelbase_m;
  facts.track_m = c.car.track_m;
  facts.mass_kg = c.car.mass_kg;
  facts.steering_ratio = c.car.steering_ratio;
  return facts;
}

Manoeuvre straight_stop(double speed_mps, double roll_s, double pedal_kpa, double stand_s) {
  Manoeuvre m;
  m.start_mps = speed_mps;
  m.phases.push_back({.duration_s = roll_s, .keep_speed_mps = speed_mps});
  m.phases.push_back({.duration_s = 60.0, .until_standstill = true, .pedal_kpa = pedal_kpa});
  m.phases.push_back({.duration_s = stand_s, .pedal_kpa = pedal_kpa});
  return m;
}

}  // namespace stopledger::model
