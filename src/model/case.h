#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/car.h"
#include "base/corner.h"
#include "model/tyre.h"

namespace stopledger::model {

/// The car as the forward model needs it. Defaults: an invented compact car.
struct Car {
  CarFacts facts;  ///< what a log reader may know; filled by `car_facts`
  CircuitSplit split = CircuitSplit::diagonal;
  Drive drive = Drive::front;
  double mass_kg = 1250.0;
  double yaw_inertia_kgm2 = 1850.0;
  double wheelbase_m = 2.58;
  double cg_to_front_m = 1.10;
  double cg_height_m = 0.53;
  double track_m = 1.46;
  double rolling_radius_m = 0.298;
  double wheel_inertia_kgm2 = 0.95;
  PerCorner<double> tyre_size{{1.0, 1.0, 1.0, 1.0}};  ///< true radius over rolling_radius_m
  double front_brake_nm_per_kpa = 0.215;
  double rear_brake_nm_per_kpa = 0.085;
  double brake_threshold_kpa = 60.0;     ///< pressure that only overcomes seals and springs
  double front_lateral_stiffness = 7.5;  ///< cornering stiffness over load (1/rad)
  double rear_lateral_stiffness = 8.5;
  double steering_ratio = 17.0;
  double wheel_torque_max_nm = 2600.0;  ///< all driven wheels together, first gear
  double engine_power_w = 60e3;
  double driveline_inertia_kgm2 = 9.0;   ///< engine side, at the driven axle, clutch engaged
  double limited_slip_nm_per_mps = 0.0;  ///< torque across the driven axle per speed difference
  double rolling_resistance = 0.013;
  double drag_area_m2 = 0.65;
};

/// Friction under the wheels of one side.
struct Grip {
  Surface surface = Surface::wet_asphalt;
  double factor = 1.0;  ///< on all friction of the published curve
  double fall = 1.0;    ///< on its fall from peak to lock
};

/// Friction under the wheels; a stretch counts from its start along the way.
struct Ground {
  Grip left, right;     ///< equal unless the surface is split
  double from_m = 0.0;  ///< where this stretch begins, from the start of the run
};

/// One stretch of driving. Quantities move linearly to their target at the given rates.
struct Phase {
  double duration_s = 1.0;
  bool until_standstill = false;  ///< ends when the car stands (duration is the limit)
  double pedal_kpa = 0.0;         ///< master-cylinder pressure the driver goes for
  double pedal_rate_kpa_per_s = 40e3;
  /// Speed the driver keeps with the accelerator; NaN: `accelerator` instead.
  double keep_speed_mps = std::numeric_limits<double>::quiet_NaN();
  double accelerator = 0.0;  ///< 0 to 1
  double steer_rad = 0.0;    ///< at the steering wheel, positive to the left
  double steer_rate_rad_per_s = 6.0;
  bool tool_pump = false;  ///< a tool commands the return pump
};

struct Manoeuvre {
  double start_mps = 11.1;
  std::vector<Phase> phases;
  double driver_correction = 1.0;  ///< how much the driver steers against a turning car, 0 to 1
  double slope = 0.0;              ///< rise over run, positive uphill
};

/// The hydraulic unit. Volumes in cm3, pressures in kPa, flow constants in cm3/s per sqrt(kPa).
struct Unit {
  UnitKind kind = UnitKind::two_valve;
  int channels = 4;
  int sensors = 4;  ///< 3: one at the final drive, both rear wheels read their mean
  bool has_isolation_valves = false;
  double inlet_flow = 0.19;
  double outlet_flow = 0.13;
  double valve_travel_s = 0.003;
  double rear_flow_share = 0.6;  ///< rear orifices and brake volumes against the front
  double accumulator_cm3 = 3.2;
  double accumulator_kpa = 250.0;  ///< spring pressure when nearly empty
  double pump_cm3_per_s = 5.0;     ///< per circuit, motor at speed
  double pump_spin_up_s = 0.06;
  double relief_kpa = 14e3;        ///< isolation valve opens back to the master cylinder
  double piston_cm3_per_s = 14.0;  ///< motor-driven pistons: flow out of and back into a wheel
  double piston_stroke_cm3 = 5.0;
  double store_cm3_per_kpa = 0.006;  ///< high-pressure store: volume per pressure lost
};

/// How an anti-lock design releases and rebuilds.
enum class RebuildStyle {
  coarse,   ///< early designs: back to full pressure at once
  stepped,  ///< short applies between holds
  partial   ///< inlet opened part way by its current: a ramp
};

/// One controller design: thresholds, times and which functions it has.
struct ControllerDesign {
  std::string name = "stepped-10";
  bool judging = false;  ///< reserved for judging: never used to tune verification
  double loop_s = 0.010;
  double release_decel_mps2 = 16.0;  ///< -a: wheel deceleration that starts control
  double slip_low = 0.06;            ///< deceleration counts only beyond this slip
  double slip_high = 0.19;           ///< slip that starts a release by itself
  double recover_accel_mps2 = 4.0;   ///< wheel acceleration that ends a release
  double high_accel_mps2 = 40.0;     ///< +A: wheel regains speed so fast that pressure may rise
  double release_on_s = 0.020;       ///< outlet pulse; 0 gap: one continuous release
  double release_gap_s = 0.0;
  double release_max_s = 0.25;
  double hold_max_s = 0.20;
  RebuildStyle rebuild = RebuildStyle::stepped;
  double first_step_s = 0.012;  ///< first apply pulse after a release
  double step_on_s = 0.005;
  double step_off_s = 0.040;
  int steps_max = 40;
  double partial_opening = 0.06;
  double end_speed_mps = 1.9;  ///< below this no modulation
  bool rear_select_low = true;
  double split_yaw_delay_s = 0.0;  ///< grippy front builds this much slower on split surfaces
  bool rear_balance = true;        ///< EBD
  double balance_slip = 0.012;
  bool stability = false;
  bool vents_partner = true;  ///< stability, traction: outlet of the kept-free wheel open too
  bool traction_brake = false;
  bool traction_torque = false;
  double self_test_mps = 0.0;  ///< 0: none; else the speed of the drive-off test
  double pump_run_on_s = 0.3;
  bool clears_accumulator = false;  ///< pulses the outlets after control, pedal up
};

enum class FaultKind {
  outlet_stuck_closed,
  outlet_slow,
  outlet_leaking,
  inlet_stuck_closed,
  inlet_slow_to_reopen,
  inlet_leaking,
  inlet_stuck_open,
  pump_dead,
  pump_weak,
  pump_piston_dead,
  accumulator_stuck,
  air,
  brake_slow_to_release,  ///< caliper or hose, not the unit
  never_commanded,
  sensor_dead,
  sensor_dropout,
  ring_cracked,
  sensors_swapped,  ///< left and right of the corner's axle
  supply_dip,
  control_off,
  isolation_stuck_open,
  prime_stuck_closed
};

std::string_view fault_name(FaultKind kind);
/// Which place a fault has: one corner, one circuit (1 or 2) or the car.
enum class FaultPlace { corner, circuit, car };
FaultPlace fault_place(FaultKind kind);

/// Something wrong with the car. `degree` 1 is the whole fault, 0 is none.
struct Fault {
  FaultKind kind{};
  double degree = 1.0;
  Corner corner = Corner::fl;
  int circuit = 1;
};

/// Everything that one run depends on.
struct Case {
  Car car;
  std::vector<Ground> ground{Ground{}};
  Manoeuvre manoeuvre;
  Unit unit;
  ControllerDesign controller;
  std::vector<Fault> faults;
  double texture = 0.05;  ///< relative standard deviation of friction along the way
  double step_s = 0.001;  ///< integration and trace step
};

/// The faults as they act: that of a valve which serves the whole rear axle is one of both wheels.
std::vector<Fault> acting_faults(const Case& c);

/// The facts of a case as the ledger would hold them.
CarFacts car_facts(const Case& c);

/// Roll at `speed_mps`, full pedal to standstill, stand: the plain exercise stop.
Manoeuvre straight_stop(double speed_mps, double roll_s, double pedal_kpa, double stand_s);

}  // namespace stopledger::model
