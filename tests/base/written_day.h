#pragma once

#include "base/day.h"

namespace stopledger::testing {

/// The day written as "2026-05-01".
inline Day day(const char* written) { return *parse_day(written); }

}  // namespace stopledger::testing
