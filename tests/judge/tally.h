#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/corner.h"
#include "judge/stops.h"
#include "model/scenario.h"
#include "verify/outcome.h"

namespace stopledger::judge {

/// What the truth says of one corner over a whole session.
struct CornerTruth {
  int releases = 0,
      answered = 0;  ///< anti-lock releases; of these pressure fell and wheel answered
  int fell = 0;      ///< releases that let the pressure fall
  int wheel = 0;     ///< releases that the wheel answered, however little the pressure fell
  int slipped = 0;   ///< releases at a wheel that had something to answer
  int worked = 0;    ///< of these, answered, or pressure fell and a quarter of the slip went
  int moved = 0;     ///< valve movement of any cause
  bool balance_fell = false;  ///< the rear balance function let the pressure fall
  bool self_test = false;
  bool axle_worked = false;  ///< the wheel beside it did not mostly fail, and both share sensor and
                             ///< valves
  bool whole_fault = false;  ///< a fault of this corner, its circuit or the car, degree 0.9 up
  bool any_fault = false;
  bool fault_elsewhere = false;  ///< the corner is sound, another one or the car is not
  double degree = 0.0;
  std::string fault = "sound";
};

struct Row {
  std::uint64_t seed;
  Corner corner;
  CornerTruth truth;
  CornerOutcome outcome;
  std::string band, sampling;
  double rate_hz;  ///< slowest channel of the fastest log
  bool plain;      ///< all channels at 50 Hz or more in one log
  bool wheels20;
  bool fine;  ///< wheel speeds in steps of 0.5 km/h or less
};

struct Tally {
  std::vector<Row> rows;
  std::vector<StopRow> stops;
  std::vector<std::string> failures;
};

/// Draws that session, records it, checks the recordings and lays truth and outcome side by side.
/// Throws Error where a recording could not be read.
void judge_seed(std::uint64_t seed, model::Split split, Tally& tally);

/// Did the corner fail most of what was asked of it? Its wheel tells, where it slipped enough to
/// answer three times; else it failed only if the pressure mostly did not fall either.
bool mostly_failed(const CornerTruth& truth);

/// "right", "cautious" or "WRONG".
const char* verdict(const Row& row);

/// "0.33 % (0.13 to 0.67)": k of n with its 95 % bounds.
std::string bound(std::size_t k, std::size_t n);

/// Prints all tables; `list`: names the wrong and missed corners, and every stop.
void print_tables(const Tally& tally, bool list);

}  // namespace stopledger::judge
