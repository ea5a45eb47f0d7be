#pragma once

#include "log/log.h"

namespace stopledger {

/// A satellite receiver reports late and steps. Its delay is what brings its speed closest to the
/// fastest wheel (or the car's own speed); with it goes a standard error by leaving out one stretch
/// of the log after the other (block jackknife).
///
/// Where the delay is known to `satellite_sure_s`, the speed is put back in time by it and compared
/// with the wheels in steady driving, which shows a wrong rolling radius or unit. Else it stays as
/// it stands and is declined: nothing is measured against it. Either is said in the notes.
///
/// Requires: speeds in m/s, as far as they are known (settle_speed_units).
void judge_satellite_speed(Log& log);

/// Chosen: at 6 m/s2 a speed that is late by so much errs by 1.5 m/s.
inline constexpr double satellite_sure_s = 0.25;

}  // namespace stopledger
