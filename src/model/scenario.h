#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "model/case.h"
#include "model/random.h"
#include "model/recorder.h"

namespace stopledger::model {

/// Controllers, tyre friction and cars are split in two: what verification is tuned with and what
/// it is judged with never share a controller design.
enum class Split { tuning, judging };

/// The invented controller designs.
std::span<const ControllerDesign> controller_designs();

/// One recording: a case, what differs between runs, and the recorder.
struct Take {
  Case c;
  std::uint64_t run_seed = 0;
  Recorder recorder;
};

/// One session of one car: one take per log. Car, unit, controller and faults are the same in all.
struct Scenario {
  std::vector<Take> takes;
};

/// Draws a complete case from a seed. Same seed and split: same scenario.
Scenario scenario(std::uint64_t seed, Split split);

/// The parts of the draw. What `facts` know is kept, the rest is drawn.
Car draw_car(Random& random, const CarFacts& facts = {});
Unit draw_unit(Random& random, const Car& car, const CarFacts& facts = {});
ControllerDesign draw_controller(Random& random, Split split, const CarFacts& facts = {});
Ground draw_ground(Random& random, Surface surface);

}  // namespace stopledger::model
