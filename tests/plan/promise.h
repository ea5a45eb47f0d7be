#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace stopledger {

/// Sessions planned, driven in the simulator and looked at through the recorder.
struct PromiseTally {
  std::string setting;  ///< "wet, 40 km/h, 8/s"
  int sessions = 0;
  double promised = 0.0;    ///< least chance over the looks that the plan brings to the aim, among
                            ///< the cars that release there at all
  double expected = 0.0;    ///< mean chance over those looks
  int looks = 0, seen = 0;  ///< looks of all sessions with a release there, and those that came out
};

/// Plans each setting once, then drives `sessions` sessions in it. The cars, controllers and
/// friction driven are of the judging split: none of their controller designs is behind the plan's
/// forecast.
std::vector<PromiseTally> keep_promises(int sessions, std::uint64_t seed,
                                        std::size_t most_settings = 100);

}  // namespace stopledger
