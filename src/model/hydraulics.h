#pragma once

#include <array>

#include "model/case.h"

namespace stopledger::model {

/// What the controller asks of the unit during one step. Coils: 0 rest, 1 full current.
struct UnitCommand {
  PerCorner<double> inlet;   ///< 1 = closed
  PerCorner<double> outlet;  ///< 1 = open
  std::array<bool, 2> isolation{};
  std::array<bool, 2> prime{};
  bool pump = false;
};

/// Pressures, volumes and valve positions of the unit and the wheel brakes.
///
/// Flow through every opening: q = k x sqrt(dp) (orifice), with k scaled by the valve position,
/// which follows its coil at the travel time. A check valve across each inlet lets the wheel fall
/// to the pressure of its circuit at any time (CT-08).
class Hydraulics {
 public:
  explicit Hydraulics(const Case& c);

  /// `supply` 0 to 1: what the electric supply lets the coils and the motor do.
  void step(const UnitCommand& command, double master_kpa, double supply, double dt_s);

  [[nodiscard]] double pressure_kpa(Corner corner) const { return wheel_[corner].pressure; }
  /// What presses the pads: lags a falling pressure where caliper or hose is slow to release.
  [[nodiscard]] double clamp_kpa(Corner corner) const { return wheel_[corner].clamp; }
  [[nodiscard]] double accumulator_cm3(int circuit) const {
    return circuit_[static_cast<std::size_t>(circuit)].stored;
  }
  [[nodiscard]] double line_kpa(int circuit) const {
    return circuit_[static_cast<std::size_t>(circuit)].line;
  }
  [[nodiscard]] double pump_speed() const { return pump_speed_; }
  /// Pressure of the high-pressure store; 0 on other kinds of unit.
  [[nodiscard]] double store_kpa() const { return store_kpa_; }
  /// Volume drawn from or (negative) pushed back to the master cylinder so far, cm3.
  [[nodiscard]] double master_volume_cm3() const { return master_volume_; }

 private:
  struct Wheel {
    std::size_t circuit = 0;
    double pressure = 0.0, clamp = 0.0;
    double inlet_open = 1.0, outlet_open = 0.0;  // positions
    double flow_in = 0.0, flow_out = 0.0;        // flow constants
    double volume_scale = 1.0;
    double inlet_floor = 0.0, inlet_ceiling = 1.0;  // what faults leave of the travel
    double outlet_floor = 0.0, outlet_ceiling = 1.0;
    double open_rate = 0.0, close_rate = 0.0, outlet_rate = 0.0;  // 1/s
    double air_cm3 = 0.0;
    double clamp_lag_s = 0.0;
    double displaced = 0.0;  // motor-driven piston: volume taken out of the wheel, cm3
  };
  struct Circuit {
    double line = 0.0;    // pressure between isolation valve and inlets
    double stored = 0.0;  // accumulator volume
    double capacity = 0.0;
    double piston = 1.0;
    double isolation_leak = 0.0;
    bool prime_works = true;
  };

  [[nodiscard]] double accumulator_kpa(const Circuit& circuit) const;
  /// Flow in and out of one wheel brake, cm3/s.
  struct Flow {
    double in = 0.0, out = 0.0;
  };
  Flow through_valves(Wheel& w, const Circuit& circuit, double inlet, double outlet);
  Flow by_piston(Wheel& w, const Circuit& circuit, double inlet, double outlet, double dt_s);
  void feed_lines(const UnitCommand& command, double master_kpa, double supply,
                  const std::array<double, 2>& drawn, double dt_s);

  Unit unit_;
  PerCorner<Wheel> wheel_;
  std::array<Circuit, 2> circuit_;
  double pump_speed_ = 0.0;
  double pump_strength_ = 1.0;
  double master_volume_ = 0.0;
  double store_kpa_ = 0.0;
};

}  // namespace stopledger::model
