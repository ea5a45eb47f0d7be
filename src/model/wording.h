#pragma once

#include <string>

#include "log/role.h"
#include "model/recorder.h"

namespace stopledger::model {

/// Header of a role's column in this export, in UTF-8, with the unit unless a units row has it.
std::string column_header(const Role& role, const Recorder& recorder);

/// Unit that this export writes a role in; empty for states.
std::string unit_text(const Role& role, const Recorder& recorder);

}  // namespace stopledger::model
