#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "model/case.h"
#include "model/random.h"
#include "model/recorder.h"

namespace stopledger::model {

/// Controllers, tyre friction and cars are split in two: what verification is tuned with and what
/// it is judged with never share a controller design.
enum class Split { tuning, judging };

/// The invented controller designs.
std::span<const ControllerDesign> controller_designs();  // controller_designs.cpp

/// What a session is about.
enum class Purpose {
  exercise,   ///< full-pedal stops
  ordinary,   ///< braking without lock: nothing but the rear balance may act
  self_test,  ///< pulls away, drives gently, stops gently
  traction,   ///< pulls away with one driven wheel on slippery ground
  stability,  ///< a bend too tight for the ground
  full_day    ///< self-test, then exercise stops, in one log
};
std::string_view purpose_name(Purpose purpose);

/// One recording: a case, what differs between runs, and the recorder.
struct Take {
  Case c;
  std::uint64_t run_seed = 0;
  Recorder recorder;
};

/// One session of one car: one take per log. Car, unit, controller and faults are the same in all.
struct Scenario {
  Purpose purpose = Purpose::exercise;
  std::vector<Take> takes;
};

/// Draws a complete case from a seed. Same seed and split: same scenario.
Scenario scenario(std::uint64_t seed, Split split);

/// The parts of the draw. What `facts` know is kept, the rest is drawn.
Car draw_car(Random& random, const CarFacts& facts = {});
Unit draw_unit(Random& random, const Car& car, const CarFacts& facts = {});
ControllerDesign draw_controller(Random& random, Split split, const Unit& unit,
                                 const CarFacts& facts = {});
Grip draw_grip(Random& random, Surface surface);
Recorder draw_recorder(Random& random);  ///< text form and defects; no channels, no rate
/// The recorder with its channels, sampling and rate: one, or three that share the session's runs.
std::vector<Recorder> draw_recorders(Random& random, const Case& c, Purpose purpose);

/// Gives some sessions' recorders a form that counts pulses or packs valves into bits.
void draw_counted_forms(Random& random, std::vector<Recorder>& recorders);

}  // namespace stopledger::model
