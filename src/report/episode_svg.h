#pragma once

#include <string>

#include "verify/outcome.h"

namespace stopledger {

/// One episode as a drawing, black on white: speeds of car and wheels over time, and under them
/// what each corner's valves were told to do.
std::string episode_svg(const Episode& episode);

}  // namespace stopledger
