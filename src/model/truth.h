#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "model/case.h"
#include "model/simulate.h"

namespace stopledger::model {

/// One commanded release: outlet pulses that follow each other within 30 ms with the inlet shut.
/// Times are model times (s).
struct Release {
  double start_s = 0.0, end_s = 0.0;  ///< first pulse on, last pulse off
  double on_s = 0.0;                  ///< outlet energised in all
  int pulses = 1;
  Cause cause = Cause::none;
  double before_kpa = 0.0, lowest_kpa = 0.0, regained_kpa = 0.0;
  bool fell = false;       ///< pressure really fell: by 15 % and 60 kPa at least
  bool came_back = false;  ///< half of the drop was regained before the next release
  double slip_before = 0.0, slip_after = 0.0;  ///< deepest around it, least within 0.4 s after
  /// Nothing when the wheel did not slip (below 5 %): it had nothing to answer.
  std::optional<bool> answered;
  double answer_s = 0.0;  ///< from the first pulse to 40 % of the slip being gone
  /// The wheel answered, or the pressure fell and the wheel gave up a quarter of its slip at least:
  /// the corner did what was asked of it, though the slip that all wheels share (on ice most of it)
  /// stayed.
  bool worked = false;
};

struct Span {
  double start_s = 0.0, end_s = 0.0;
};

struct CornerTruth {
  std::vector<Release> releases;
  std::vector<Span> holds;  ///< inlet on, outlet off
  double peak_slip = 0.0;   ///< while the pedal is pressed above 15 km/h
  double locked_s = 0.0;    ///< above 15 km/h
  double inlet_on_s = 0.0;
  /// Highest pressure that the unit built without the driver, kPa (stability, traction).
  double built_kpa = 0.0;
};

enum class EventKind { stop, braking, stability, traction, self_test };
std::string_view event_name(EventKind kind);

struct Event {
  EventKind kind{};
  double start_s = 0.0, end_s = 0.0;
  double start_mps = 0.0, end_mps = 0.0;
  double distance_m = 0.0;
  std::optional<double> mfdd_mps2;  ///< stops only (UN R13-H)
  bool modulated = false;           ///< anti-lock released somewhere
  bool rear_balance = false;
};

/// What really happened, worked out from the frames of the run.
struct Truth {
  PerCorner<CornerTruth> corners;
  std::vector<Event> events;
  std::array<std::vector<Span>, 2> isolation, prime;
  std::vector<Span> pump;  ///< commanded
  double pump_turned_s = 0.0;
};

Truth find_truth(const Run& run, const Case& c);

}  // namespace stopledger::model
