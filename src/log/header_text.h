#pragma once

#include "log/layout.h"

namespace stopledger {

/// Takes the unit out of a header: "speed (km/h)", "speed [km/h]", "speed, km/h", "speed km/h".
void split_header(Column& column);

/// Names of columns often hold no slash: what is a speed by its wording and in "ms" is in m/s, in
/// "rads" in rad/s.
void mend_slashless_unit(Column& column);

}  // namespace stopledger
