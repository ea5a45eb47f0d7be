#pragma once

#include <string>

#include "log/role.h"
#include "model/case.h"
#include "model/recorder.h"

namespace stopledger::model {

/// Appends a number with the export's decimal mark.
void append_number(std::string& text, double value, int decimals, const Recorder& recorder);

/// One cell: a true value (SI; states 0, 1 or a share between) as this export writes it, in its
/// unit, quantum, words and decimal mark. NaN gives the export's text for a missing value.
std::string cell_text(const Role& role, double value, const Recorder& recorder, const Car& car);

/// A recorder's time stamp in its first column (or first two, split by its delimiter).
std::string stamp_text(double seconds, const Recorder& recorder);

/// The finished text of an export in its encoding.
std::string encoded(std::string utf8, Encoding encoding);

}  // namespace stopledger::model
