#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "record/ledger_file.h"

namespace stopledger {

/// Which standing records of a car decide what is due: the newest of each kind, subject and
/// result; all faults, repairs, parts, storage spans, replaced clusters and postponements; and
/// readings of the odometer, the last of each quarter for three years and of each year before.
/// By day, then by order of entry.
std::vector<std::int64_t> deciding_records(LedgerFile& file, std::int64_t car);

/// Those records as one text that reads back fast, and back. Left out: who, who signed, notes,
/// who entered. `read_brief` sets `records`, whose memory it uses again, and throws Error(ledger)
/// for a damaged text.
std::string write_brief(LedgerFile& file, std::int64_t car);
void read_brief(std::string_view text, const std::string& car_name, std::vector<Record>& records);

}  // namespace stopledger
