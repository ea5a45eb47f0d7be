#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "log/log.h"
#include "model/case.h"
#include "model/scenario.h"
#include "model/simulate.h"
#include "verify/outcome.h"

namespace stopledger::control_cases {

/// What one drawn run is about.
enum class Group {
  plain,       ///< bends, braking and pulling away well within the ground's grip
  understeer,  ///< a bend too tight for the ground
  oversteer,   ///< rear drive, too much throttle in a bend
  counter,     ///< steered one way, then the other
  launch,      ///< pulls away with too much throttle, traction control at work
  spinning     ///< the same without any traction control
};
inline constexpr std::size_t group_count = 6;
std::string group_name(Group group);

/// What really happened over one stretch of control, by the frames of the run alone.
struct TrueEpisode {
  bool stability = false;  ///< else traction: the function acted, or a driven wheel spun
  double start_s = 0.0, end_s = 0.0;
  /// Stability: by the slip angles of both axles, where one slid alone for half of the time and the
  /// other next to never; `none` where an episode had both or a car slid over all four wheels.
  Tendency tendency = Tendency::none;
  std::vector<Corner> braked;   ///< pressure built by the unit above 500 kPa
  std::vector<Corner> touched;  ///< the unit acted on this wheel, however little pressure came
  bool answered = false;        ///< the function did anything
  bool torque_cut = false;      ///< throttle below 70 % of the pedal for a tenth of a second
  double spin_s = 0.0;          ///< longest that one driven wheel spun
  double spin_mps = 0.0;        ///< how much faster than the car at most
};

struct ControlRun {
  Group group{};
  double rate_hz = 0.0;
  bool throttle_logged = false, timing_logged = false, valves_logged = false;
  model::Case c;
  Log log;
  std::vector<TrueEpisode> truth;  ///< on the log's clock
};

/// Draws, drives and records one run. Own stream of draws; the same seed gives the same run.
///
/// Yaw rate and steering get what real sensors add and the model leaves out: an offset of up to
/// 1 deg/s and 3 degrees, and noise of 0.4 deg/s.
///
/// `judging` draws cars, controllers and noise that tuning never saw.
ControlRun draw_control_run(std::uint64_t seed, Group group, double rate_hz,
                            model::Split split = model::Split::tuning);

}  // namespace stopledger::control_cases
