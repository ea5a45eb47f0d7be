#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "verify/evidence.h"
#include "verify/outcome.h"
#include "verify/prepared_log.h"

// Findings about the recording rather than the car.
namespace stopledger {

/// Why a stop may have gone unseen: columns that may be wheel speeds and are not used, or no other
/// speed than a satellite receiver's. Part of a sentence with what to do; "" when there is no
/// reason.
std::string speed_hint(std::span<const Log> logs);

/// Whether any column of any log was understood.
bool any_channel(const std::vector<PreparedLog>& runs);

/// That no braking was found, and what to do; `hint`: of speed_hint.
Finding no_stop_found(const std::vector<PreparedLog>& runs, const std::string& hint);

/// A wheel speed that was lost or held cells that are no speed; nothing when it was sound.
std::optional<Finding> signal_lost(Corner corner, const CornerEvidence& evidence);

/// Wheels of one axle that were read so far apart within a row that their slips feel it; nothing
/// when none are shown to be.
std::optional<Finding> read_times_apart(const Log& log);

}  // namespace stopledger
