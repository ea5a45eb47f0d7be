#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/scenario.h"
#include "model/truth.h"
#include "verify/outcome.h"

namespace stopledger::judge {

/// A stop of the model beside the episode in which the check found it.
struct StopRow {
  std::uint64_t seed = 0;
  double start_s = 0.0;  ///< on the log's clock
  double true_m = 0.0, true_mfdd = 0.0;
  std::optional<double> distance_m, mfdd_mps2;
  double distance_share = 0.0, mfdd_share = 0.0;
  double carried_s = 0.0, two_locked_s = 0.0;
  bool estimated = false;
  double rate_hz = 0.0;  ///< of the slowest wheel speed in its log
  std::string what;      ///< surface, speed, witnesses, faults
};

/// Adds the stops of one log that the check found.
void compare_stops(std::uint64_t seed, const model::Take& take, const model::Truth& truth,
                   double zero_s, const std::vector<Episode>& episodes, std::size_t log,
                   std::vector<StopRow>& rows);

/// Prints how far lengths and MFDD are off.
void print_stops(const std::vector<StopRow>& rows);
/// Prints every stop on a line of its own.
void list_stops(const std::vector<StopRow>& rows);

}  // namespace stopledger::judge
