#pragma once

#include <cstdint>

#include "record/ledger_file.h"

namespace stopledger {

/// The record of that number. Throws Error(usage) when there is none. Used inside record/ only.
Record record_with(LedgerFile& file, std::int64_t id);

/// One record by uid, or all of a car by day and order of entry.
std::optional<Record> record_with_uid(LedgerFile& file, const std::string& uid);
std::vector<Record> records_with_car(LedgerFile& file, std::int64_t car);

/// Adds the entry and the rows of a record, sealed; the computed rows are the caller's matter.
std::int64_t insert_record(LedgerFile& file, const Record& record,
                           std::optional<std::int64_t> supersedes, const EntryStamp& stamp);

/// A day as the tables keep it. Throws Error(ledger).
Day stored_day(const std::string& text);

}  // namespace stopledger
