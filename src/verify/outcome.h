#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/corner.h"
#include "base/result.h"

namespace stopledger {

/// What a corner's result rests on; spelled "valves+wheel", "valves", "wheel", "none".
enum class EvidenceKind { none, wheel, valves, valves_and_wheel };

/// How the wheel answered the commands; spelled as here.
enum class Response { normal, weak, none, undetermined };

enum class Severity { note, caution, fault };

/// What keeps a stop's length or MFDD from being known better.
enum class StopDoubt {
  none,
  start_cut,     ///< it was braked already when the log began
  one_speed,     ///< with nothing to compare it with, whether that wheel slipped cannot be seen
  wheels_spun,   ///< wheels spun up just before: no speed to begin with
  all_locked,    ///< every wheel stood while the car went on
  all_sunk,      ///< all wheels may have gone down into slip together (sinking.h)
  two_locked,    ///< two wheels or more stayed locked
  slow_looks,    ///< too few looks a second
  start,         ///< when the pedal went down
  last_metres,   ///< control ends at walking pace, and wheels lock
  wheel_slip,    ///< how deep the least slipping wheel slips
  coarse_speed,  ///< steps and noise of the written speeds
  wheel_size     ///< the scale of the speeds themselves
};

enum class EpisodeKind { stop, braking, stability, traction, self_test, unexplained };

enum class Tendency { none, oversteer, understeer };

/// One corner over all logs of the session. Unknown numbers are empty, never 0.
struct CornerOutcome {
  Result result = Result::unseen;
  std::optional<bool> enough;  ///< empty without a procedure
  bool asked = true;
  std::string reason;  ///< one sentence with the figures that decided it
  EvidenceKind evidence = EvidenceKind::none;
  std::optional<int> release_events, release_events_low, release_events_high;
  std::optional<int> hold_events;
  std::optional<double> cycle_rate_hz;
  Response response = Response::undetermined;
  std::optional<double> response_delay_s;
  std::optional<double> answered_share;
  std::optional<double> catch_probability;
  std::optional<double> peak_slip;
  std::optional<double> locked_s;
  std::optional<double> confidence;        ///< of the result, 0 to 1, where it can be stated
  std::vector<std::string> could_also_be;  ///< other explanations that the log does not rule out
};

/// One corner within one episode.
struct EpisodeCorner {
  Result result = Result::unseen;
  std::optional<int> release_events;
  std::optional<double> cycle_rate_hz;
  std::optional<double> peak_slip;
  std::optional<double> locked_s;
};

struct StabilityOutcome {
  Tendency tendency = Tendency::none;
  std::vector<Corner> braked, expected;
  /// Yaw rate 1.00 and 1.75 s after the steering came back, as shares of its first peak
  /// (signal/yaw_decay.h); figures only, no pass or fail.
  std::optional<double> yaw_left_1s, yaw_left_1_75s;
};

struct TractionOutcome {
  std::optional<bool> torque_cut;
  std::optional<double> throttle_floor_pct, pedal_pct;
  std::vector<Corner> braked;              ///< driven wheels that the unit braked
  std::vector<Corner> spun;                ///< wheels that spun up
  std::optional<double> spin_s, spin_kmh;  ///< longest spin of one wheel; how far above the car
  /// Whether the car answered the spin; nothing where the log could not have shown it.
  std::optional<bool> answered;
};

/// What a picture of an episode needs: speeds in km/h and command spans, on the log's clock.
struct EpisodeTraces {
  struct Curve {
    std::vector<double> t_s, v_kmh;
  };
  struct Span {
    double from_s = 0.0, to_s = 0.0;
  };
  Curve reference;
  PerCorner<Curve> wheels;
  PerCorner<std::vector<Span>> holds, releases;
};

struct Episode {
  std::size_t log = 0;  ///< index into the logs given
  EpisodeKind kind = EpisodeKind::unexplained;
  double start_s = 0.0, end_s = 0.0;  ///< from the first time stamp of that log
  std::optional<double> v_start_kmh, v_end_kmh, distance_m, mfdd_mps2;
  /// 95 % bounds of length and MFDD: from value / (1 + share) to value * (1 + share).
  double distance_share = 0.0, mfdd_share = 0.0;
  /// Why length or MFDD of a braking is not stated though the car's speed is known; else `none`.
  StopDoubt unmeasured = StopDoubt::none;
  /// How long every wheel stood while the car went on, its speed only carried on.
  double carried_s = 0.0;
  /// How long two wheels or more were locked above 15 km/h: the car's speed then rests on the
  /// others, which may slip as deep.
  double two_locked_s = 0.0;
  bool estimated = false;  ///< either was long enough to matter (criteria.carried_s, AB-21)
  std::optional<bool> modulated;
  PerCorner<EpisodeCorner> corners;
  std::optional<StabilityOutcome> stability;
  std::optional<TractionOutcome> traction;
  EpisodeTraces traces;
};

struct CircuitOutcome {
  Result isolation = Result::unseen;
  Result prime = Result::unseen;
};

struct PumpOutcome {
  Result result = Result::unseen;
  std::optional<double> on_s, first_on_after_release_s;
  std::string reason;  ///< of a suspect one
};

struct Finding {
  std::string id;  ///< "release-unanswered", ... (design section 6)
  Severity severity = Severity::note;
  std::optional<Corner> corner;
  std::string text;  ///< what, figures, what else it could be, what to do
};

/// The whole answer of one check.
struct CheckOutcome {
  Result result = Result::unseen;  ///< the worst of the corners asked for
  PerCorner<CornerOutcome> corners;
  std::array<CircuitOutcome, 2> circuits;  ///< circuit 1 and 2
  PumpOutcome pump;
  std::vector<Episode> episodes;
  std::vector<Finding> findings;
  std::vector<std::string> record_next;  ///< what to record next time so that it can be settled
  std::vector<std::string> limits;       ///< what this result does not show
};

}  // namespace stopledger
