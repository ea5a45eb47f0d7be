#pragma once

#include <vector>

#include "base/corner.h"
#include "log/log.h"
#include "signal/read_skew.h"

namespace stopledger {

/// When the right wheel of an axle was read, counted from the left one of the same row.
struct AxleReadTimes {
  Corner left = Corner::fl, right = Corner::fr;
  ReadSkew skew;
  /// The least that the limits leave of it, 0 when they hold 0.
  [[nodiscard]] double least_s() const {
    return skew.low_s > 0.0 ? skew.low_s : skew.high_s < 0.0 ? -skew.high_s : 0.0;
  }
};

/// Of both axles, as far as the log has the wheels and enough change of speed. Between the axles
/// nothing is said (see fit_read_skew).
std::vector<AxleReadTimes> axle_read_times(const Log& log);

}  // namespace stopledger
