#include "model/simulate.h"

#include <algorithm>
#include <cmath>

#include "model/body.h"
#include "model/hydraulics.h"
#include "model/random.h"
#include "model/sensors.h"

namespace stopledger::model {
namespace {

constexpr double texture_length_m = 0.7;  // friction wanders over about this length
constexpr double driver_lag_s = 0.25;     // steering correction: reaction and hands
constexpr double pedal_off_kpa_per_s = 60e3;
constexpr double rest_supply_v = 13.6;

double toward(double value, double target, double step) {
  return value < target ? std::min(value + step, target) : std::max(value - step, target);
}

/// Adhesion under each wheel along the way: stretches of ground and a wandering texture.
class Road {
 public:
  Road(const Case& c, Random& random) : ground_(c.ground), deviation_(c.texture), random_(random) {}

  void move(double way_m, double dt_m, double wheelbase_m) {
    const double keep = std::exp(-dt_m / texture_length_m);
    const double kick = std::sqrt(1.0 - keep * keep) * deviation_;
    for (Corner corner : all_corners) {
      if (dt_m > 0.0) texture_[corner] = keep * texture_[corner] + kick * random_.normal(0.0, 1.0);
      const double at = is_front(corner) ? way_m : way_m - wheelbase_m;
      const Ground* here = &ground_.front();
      for (const Ground& stretch : ground_)
        if (stretch.from_m <= at) here = &stretch;
      const Grip& grip = is_left(corner) ? here->left : here->right;
      curve_[corner] =
          tyre_curve(grip.surface).shaped(grip.factor * (1.0 + texture_[corner]), grip.fall);
    }
  }
  [[nodiscard]] const TyreCurve& at(Corner corner) const { return curve_[corner]; }

 private:
  const std::vector<Ground>& ground_;
  double deviation_;
  Random& random_;
  PerCorner<double> texture_;
  PerCorner<TyreCurve> curve_;
};

class Simulation {
 public:
  Simulation(const Case& c, std::uint64_t seed)
      : c_(c),
        random_(seed),
        road_(c, random_),
        body_(c.car, c.manoeuvre.start_mps),
        hydraulics_(c),
        sensors_(c),
        controller_(c),
        dt_(c.step_s) {
    for (const Fault& fault : c.faults)
      if (fault.kind == FaultKind::supply_dip)
        supply_weakness_ = fault.degree;
      else if (fault.kind == FaultKind::pump_dead)
        motor_draws_ = 1.0 - fault.degree;  // worn brushes, relay, wiring: no current, no turning
  }

  Run run() {
    Run out;
    out.step_s = dt_;
    double total = 0.0;
    for (const Phase& phase : c_.manoeuvre.phases) total += std::min(phase.duration_s, 12.0);
    out.frames.reserve(static_cast<std::size_t>(total / dt_) + 16);
    for (const Phase& phase : c_.manoeuvre.phases) {
      double in_phase = 0.0;
      while (in_phase < phase.duration_s) {
        step(phase);
        out.frames.push_back(frame_);
        in_phase += dt_;
        if (phase.until_standstill && body_.standing()) break;
      }
    }
    out.energy = body_.energy();
    out.kinetic_end_j = body_.kinetic_j();
    return out;
  }

 private:
  void drive(const Phase& phase) {
    pedal_kpa_ = toward(
        pedal_kpa_, phase.pedal_kpa,
        (phase.pedal_kpa < pedal_kpa_ ? pedal_off_kpa_per_s : phase.pedal_rate_kpa_per_s) * dt_);
    steer_ = toward(steer_, phase.steer_rad, phase.steer_rate_rad_per_s * dt_);
    double accelerator = phase.accelerator;
    if (!std::isnan(phase.keep_speed_mps)) {
      accelerator = std::clamp(0.6 * (phase.keep_speed_mps - body_.speed_mps()) + 0.08, 0.0, 0.5);
      if (body_.driven_mps() - body_.speed_mps() > 0.8)
        accelerator = 0.0;  // a careful driver eases off when the wheels spin
    }
    if (phase.pedal_kpa > 0.0) accelerator = 0.0;
    accelerator_ = toward(accelerator_, accelerator, 4.0 * dt_);
    // Steers against heading and yaw that nobody asked for.
    const double wanted = steer_ == 0.0 ? -(0.9 * body_.heading_rad() + 0.35 * body_.yaw_rate()) *
                                              c_.car.steering_ratio * c_.manoeuvre.driver_correction
                                        : 0.0;
    correction_ += (std::clamp(wanted, -4.0, 4.0) - correction_) * dt_ / driver_lag_s;
  }

  /// Battery and alternator: the pump motor's start draws several times its running current.
  double supply() {
    const double start = frame_.pump ? 1.0 - hydraulics_.pump_speed() : 0.0;
    return rest_supply_v -
           motor_draws_ * ((0.9 + 4.0 * supply_weakness_) * hydraulics_.pump_speed() +
                           (1.4 + 4.0 * supply_weakness_) * start) +
           0.03 * random_.normal(0.0, 1.0);
  }

  void step(const Phase& phase) {
    drive(phase);
    SensorInput in;
    in.t_s = t_;
    in.wheel_mps = sensors_.read(body_.spin(), dt_, random_);
    in.motion = {body_.yaw_rate(), steer_ + correction_, accelerator_, pedal_kpa_ > 50.0};
    in.supply_v = supply();
    in.store_kpa = hydraulics_.store_kpa();
    const ControllerOutput& out = controller_.step(in, dt_);
    // Coils and motor need most of their voltage.
    UnitCommand unit = out.valves.unit;
    unit.pump = unit.pump || phase.tool_pump;
    hydraulics_.step(unit, pedal_kpa_, in.supply_v > 8.0 ? 1.0 : 0.0, dt_);

    road_.move(body_.way_m(), body_.speed_mps() * dt_, c_.car.wheelbase_m);
    const double throttle = accelerator_ * out.torque_factor;
    BodyInput push;
    push.drive_nm = throttle * std::min(c_.car.wheel_torque_max_nm,
                                        c_.car.engine_power_w * c_.car.rolling_radius_m /
                                            std::max(body_.driven_mps(), 1.0));
    push.clutch = pedal_kpa_ <= 0.0;
    push.steer_rad = in.motion.steer_rad / c_.car.steering_ratio;
    push.slope = c_.manoeuvre.slope;
    push.held = pedal_kpa_ > 0.0;
    for (Corner corner : all_corners) {
      push.clamp_kpa[corner] = hydraulics_.clamp_kpa(corner);
      push.road[corner] = road_.at(corner);
    }
    body_.step(push, dt_);
    note(in, out, throttle);
    frame_.pump = unit.pump;
    t_ += dt_;
  }

  void note(const SensorInput& in, const ControllerOutput& out, double throttle) {
    Frame& f = frame_;
    f.t_s = t_;
    f.way_m = body_.way_m();
    f.speed_mps = body_.speed_mps();
    f.side_mps = body_.side_mps();
    f.accel_mps2 = body_.accel_mps2();
    f.lateral_mps2 = body_.lateral_mps2();
    f.yaw_rate = body_.yaw_rate();
    f.steer_rad = in.motion.steer_rad;
    f.accelerator = accelerator_;
    f.throttle = throttle;
    f.master_kpa = pedal_kpa_;
    f.supply_v = in.supply_v;
    f.reference_mps = out.reference_mps;
    f.pedal = in.motion.pedal;
    f.pump = out.valves.unit.pump;
    f.pump_speed = hydraulics_.pump_speed();
    f.lamp = out.lamp;
    f.antilock = out.antilock_active;
    f.stability = out.stability_active;
    f.traction = out.traction_active;
    f.isolation = out.valves.unit.isolation;
    f.prime = out.valves.unit.prime;
    for (int i = 0; i < 2; ++i)
      f.accumulator_cm3[static_cast<std::size_t>(i)] = hydraulics_.accumulator_cm3(i);
    f.inlet = out.valves.unit.inlet;
    f.outlet = out.valves.unit.outlet;
    f.cause = out.valves.cause;
    f.sensed_mps = in.wheel_mps;
    f.slip = body_.slip();
    f.load_n = body_.load_n();
    for (Corner corner : all_corners) {
      f.wheel_mps[corner] = body_.spin()[corner] * body_.radius_m(corner);
      f.pressure_kpa[corner] = hydraulics_.pressure_kpa(corner);
      f.clamp_kpa[corner] = hydraulics_.clamp_kpa(corner);
    }
  }

  const Case& c_;
  Random random_;
  Road road_;
  Body body_;
  Hydraulics hydraulics_;
  WheelSensors sensors_;
  Controller controller_;
  double dt_;
  Frame frame_;
  double supply_weakness_ = 0.0, motor_draws_ = 1.0;
  double t_ = 0.0, pedal_kpa_ = 0.0, steer_ = 0.0, accelerator_ = 0.0, correction_ = 0.0;
};

}  // namespace

Run simulate(const Case& c, std::uint64_t seed) { return Simulation(c, seed).run(); }

}  // namespace stopledger::model
