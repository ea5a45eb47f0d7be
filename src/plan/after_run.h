#pragma once

#include <optional>
#include <span>
#include <string>

#include "record/record.h"

namespace stopledger {

/// Why an after-run check cannot come out as "clean": what was written down says something else, or
/// the pedal has grown longer than at the newest level check that measured it. "" when nothing
/// speaks against it, or when it does not say "clean".
///
/// `records`: those of the car that stand, by day.
std::string against_clean(const Record& after_run, std::span<const Record> records);

/// Pedal travel (mm) at the newest level check up to the day of the after-run check; nothing when
/// none is on record.
std::optional<double> pedal_before(const Record& after_run, std::span<const Record> records);

}  // namespace stopledger
