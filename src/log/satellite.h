#pragma once

#include "log/log.h"

namespace stopledger {

/// A satellite receiver reports late. Its delay is what brings its speed closest to the car's.
/// It is put into the channel (read_skew_s) and, when it matters, into the notes.
void judge_satellite_delay(Log& log);

}  // namespace stopledger
