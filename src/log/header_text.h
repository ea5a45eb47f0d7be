#pragma once

#include "log/layout.h"

namespace stopledger {

/// Takes the unit out of a header: "speed (km/h)", "speed [km/h]", "speed, km/h", "speed km/h".
void split_header(Column& column);

}  // namespace stopledger
