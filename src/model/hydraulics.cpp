#include "model/hydraulics.h"

#include <algorithm>
#include <cmath>

namespace stopledger::model {
namespace {

// Brake volume per pressure of a front brake: soft while clearances and pads close, stiff above
// (chosen so that 10 MPa takes 2.2 cm3, the size of a small front caliper; common practice).
constexpr double soft_cm3_per_kpa = 0.9e-3;
constexpr double stiff_cm3_per_kpa = 0.10e-3;
constexpr double softness_kpa = 1500.0;
// Damper chamber and pipes behind a closed isolation valve.
constexpr double line_cm3_per_kpa = 0.12e-3;
constexpr double accumulator_kpa_per_cm3 = 60.0;
constexpr double accumulator_stop_kpa_per_cm3 = 6000.0;  // piston on its stop: nothing more fits
constexpr double start_store_kpa = 14.6e3;
constexpr double air_per_degree_cm3 = 4.0;
constexpr double atmosphere_kpa = 101.3;

/// Orifice flow, linear within a few kPa of balance so that the step stays stable there.
double flow(double k, double dp_kpa) { return k * dp_kpa / std::sqrt(std::abs(dp_kpa) + 40.0); }

double toward(double value, double target, double step) {
  return value < target ? std::min(value + step, target) : std::max(value - step, target);
}

}  // namespace

Hydraulics::Hydraulics(const Case& c) : unit_(c.unit) {
  for (Corner corner : all_corners) {
    Wheel& w = wheel_[corner];
    w.circuit = static_cast<std::size_t>(circuit_of(c.car.split, corner).value_or(1) - 1);
    const double share = is_front(corner) ? 1.0 : unit_.rear_flow_share;
    w.flow_in = unit_.inlet_flow * share;
    w.flow_out = unit_.outlet_flow * share;
    w.volume_scale = share;
    w.open_rate = w.close_rate = w.outlet_rate = 1.0 / unit_.valve_travel_s;
  }
  for (Circuit& circuit : circuit_) circuit.capacity = unit_.accumulator_cm3;
  if (unit_.kind == UnitKind::high_pressure_store) {
    store_kpa_ = start_store_kpa;
    unit_.accumulator_kpa = 0.0;  // straight to the reservoir
  }
  for (const Fault& fault : acting_faults(c)) {
    Wheel& w = wheel_[fault.corner];
    Circuit& circuit = circuit_[static_cast<std::size_t>(fault.circuit == 2 ? 1 : 0)];
    const double d = fault.degree;
    switch (fault.kind) {
      case FaultKind::outlet_stuck_closed:
        w.outlet_ceiling = 1.0 - d;
        break;
      case FaultKind::outlet_slow:
        w.outlet_rate = 1.0 / (unit_.valve_travel_s + 0.25 * d);
        break;
      case FaultKind::outlet_leaking:
        w.outlet_floor = 0.15 * d;
        break;
      case FaultKind::inlet_stuck_closed:
        w.inlet_ceiling = 1.0 - d;
        break;
      case FaultKind::inlet_slow_to_reopen:
        w.open_rate = 1.0 / (unit_.valve_travel_s + 0.8 * d);
        break;
      case FaultKind::inlet_leaking:
        w.inlet_floor = 0.2 * d;
        break;
      case FaultKind::inlet_stuck_open:
        w.inlet_floor = d;
        break;
      case FaultKind::pump_dead:
        pump_strength_ = 1.0 - d;
        break;
      case FaultKind::pump_weak:
        pump_strength_ = 1.0 - 0.85 * d;
        break;
      case FaultKind::pump_piston_dead:
        circuit.piston = 1.0 - d;
        break;
      case FaultKind::accumulator_stuck:
        circuit.capacity *= 1.0 - 0.97 * d;
        break;
      case FaultKind::air:
        w.air_cm3 = air_per_degree_cm3 * d;
        break;
      case FaultKind::brake_slow_to_release:
        w.clamp_lag_s = 1.5 * d;
        break;
      case FaultKind::isolation_stuck_open:
        circuit.isolation_leak = d;
        break;
      case FaultKind::prime_stuck_closed:
        circuit.prime_works = d < 0.5;
        break;
      default:
        break;  // the controller's or the sensors' faults
    }
  }
}

double Hydraulics::accumulator_kpa(const Circuit& circuit) const {
  const double over = std::max(circuit.stored - circuit.capacity, 0.0);
  return unit_.accumulator_kpa + accumulator_kpa_per_cm3 * circuit.stored +
         accumulator_stop_kpa_per_cm3 * over;
}

Hydraulics::Flow Hydraulics::through_valves(Wheel& w, const Circuit& circuit, double inlet,
                                            double outlet) {
  Flow q;
  const double from_line = circuit.line - w.pressure;
  // Toward the line the check valve beside the inlet opens by itself.
  q.in = flow(w.flow_in * (from_line < 0.0 ? std::max(inlet, 0.8) : inlet), from_line);
  const double store_kpa = accumulator_kpa(circuit);
  if (w.pressure > store_kpa) q.out = flow(w.flow_out * outlet, w.pressure - store_kpa);
  return q;
}

/// Motor-driven piston: the wheel is cut off while the piston is away from home; pressure falls
/// and returns as fast as the motor moves it. What left the wheel is what can come back.
Hydraulics::Flow Hydraulics::by_piston(Wheel& w, const Circuit& circuit, double inlet,
                                       double outlet, double dt_s) {
  Flow q;
  const double speed = unit_.piston_cm3_per_s * w.volume_scale;
  if (outlet > 0.0 && w.pressure > 0.0) {
    q.out = std::min(speed * outlet, (unit_.piston_stroke_cm3 - w.displaced) / dt_s);
    w.displaced += q.out * dt_s;
  } else if (inlet > 0.0 && w.displaced > 0.0) {
    q.in = std::min(0.4 * speed * inlet, w.displaced / dt_s);  // back against the pressure
    w.displaced -= q.in * dt_s;
  } else if (w.displaced <= 0.0) {
    q = through_valves(w, circuit, inlet, 0.0);
  }
  if (circuit.line < w.pressure && w.displaced > 0.0) {  // pedal eased: check valve, piston home
    q.in = flow(w.flow_in * 0.8, circuit.line - w.pressure);
    if (circuit.line <= 0.0) w.displaced = std::max(w.displaced - speed * dt_s, 0.0);
  }
  return q;
}

void Hydraulics::step(const UnitCommand& command, double master_kpa, double supply, double dt_s) {
  pump_speed_ += ((command.pump ? supply : 0.0) - pump_speed_) * dt_s / unit_.pump_spin_up_s;
  std::array<double, 2> drawn{};  // from each line into the wheels, cm3/s
  for (Corner corner : all_corners) {
    Wheel& w = wheel_[corner];
    Circuit& circuit = circuit_[w.circuit];
    const double inlet_target = 1.0 - command.inlet[corner] * supply;
    const double rate = inlet_target > w.inlet_open ? w.open_rate : w.close_rate;
    w.inlet_open = toward(w.inlet_open, inlet_target, rate * dt_s);
    w.outlet_open = toward(w.outlet_open, command.outlet[corner] * supply, w.outlet_rate * dt_s);
    const double inlet = std::clamp(w.inlet_open, w.inlet_floor, w.inlet_ceiling);
    const double outlet = std::clamp(w.outlet_open, w.outlet_floor, w.outlet_ceiling);
    const Flow q = unit_.kind == UnitKind::motor_piston ? by_piston(w, circuit, inlet, outlet, dt_s)
                                                        : through_valves(w, circuit, inlet, outlet);

    double compliance =
        w.volume_scale * (stiff_cm3_per_kpa + (soft_cm3_per_kpa - stiff_cm3_per_kpa) *
                                                  std::exp(-w.pressure / softness_kpa));
    const double absolute = w.pressure + atmosphere_kpa;
    compliance += w.air_cm3 * atmosphere_kpa / (absolute * absolute);
    w.pressure = std::max(w.pressure + (q.in - q.out) * dt_s / compliance, 0.0);
    if (unit_.kind != UnitKind::motor_piston) circuit.stored += q.out * dt_s;
    drawn[w.circuit] += q.in;
    if (w.pressure >= w.clamp || w.clamp_lag_s <= 0.0)
      w.clamp = w.pressure;
    else
      w.clamp += (w.pressure - w.clamp) * dt_s / w.clamp_lag_s;
  }
  feed_lines(command, master_kpa, supply, drawn, dt_s);
}

void Hydraulics::feed_lines(const UnitCommand& command, double master_kpa, double supply,
                            const std::array<double, 2>& drawn, double dt_s) {
  const double pump_flow = unit_.pump_cm3_per_s * pump_speed_ * pump_strength_;
  if (unit_.kind == UnitKind::high_pressure_store) {
    // The store feeds what the wheels take; released fluid runs to the reservoir.
    const double used = std::max(drawn[0], 0.0) + std::max(drawn[1], 0.0);
    store_kpa_ += (2.0 * pump_flow - used) * dt_s / unit_.store_cm3_per_kpa;
    store_kpa_ = std::clamp(store_kpa_, 0.0, 21e3);
    for (Circuit& circuit : circuit_) {
      circuit.stored = 0.0;
      circuit.line = std::min(master_kpa, std::max(store_kpa_, 0.25 * master_kpa));
    }
    return;
  }
  for (std::size_t i = 0; i < circuit_.size(); ++i) {
    Circuit& circuit = circuit_[i];
    double pumped = pump_flow * circuit.piston;
    const bool draws_from_master = command.prime[i] && circuit.prime_works;
    if (!draws_from_master) pumped = std::min(pumped, circuit.stored / dt_s);
    const double from_store = std::min(pumped, circuit.stored / dt_s);
    circuit.stored -= from_store * dt_s;
    master_volume_ += (pumped - from_store) * dt_s;
    const bool shut = command.isolation[i] && supply > 0.5;
    if (!shut) {
      // The pump pushes back against the driver's foot: the pedal pulses a little.
      circuit.line = master_kpa + 25.0 * pumped;
      master_volume_ += (drawn[i] - pumped) * dt_s;
      continue;
    }
    const double leak = flow(0.4 * circuit.isolation_leak, circuit.line - master_kpa);
    circuit.line += (pumped - drawn[i] - leak) * dt_s / line_cm3_per_kpa;
    circuit.line = std::clamp(circuit.line, master_kpa, master_kpa + unit_.relief_kpa);
    master_volume_ -= leak * dt_s;
  }
}

}  // namespace stopledger::model
