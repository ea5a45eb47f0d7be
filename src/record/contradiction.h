#pragma once

#include <string>

#include "record/record.h"

namespace stopledger {

/// The first corner of a lifted-wheel valve test or a static active-pressure test that is not in
/// order by its own field, as "RL: release no"; "" when there is none. A wheel that the active
/// pressure does not lock may be one that the function does not brake, and is none.
std::string failing_corner(const Record& record);

/// One sentence when the fields of a record cannot all be true ("result pass, but RL: release no");
/// "" when they can.
std::string contradiction(const Record& record);

}  // namespace stopledger
