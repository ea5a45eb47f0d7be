#pragma once

#include <vector>

#include "log/role.h"
#include "model/case.h"
#include "model/simulate.h"

namespace stopledger::model {

/// True value of a role at a frame, SI; NaN when the car has no such signal.
double true_value(const Frame& frame, const Role& role);

/// Valve (or three-position valve) roles of the unit's channels, corners that have valves only.
std::vector<Role> valve_roles(const Unit& unit);
std::vector<Role> outlet_roles(const Unit& unit);
std::vector<Role> wheel_speed_roles();

}  // namespace stopledger::model
