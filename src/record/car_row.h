#pragma once

#include <cstdint>
#include <string>

#include "record/ledger_file.h"

namespace stopledger {

/// A car's row and its name as the ledger spells it. Used inside record/ only.
struct CarRow {
  std::int64_t id = 0;
  std::string name;  ///< as the ledger spells it
};

/// Error(usage) with near names when there is no such car.
CarRow car_row(LedgerFile& file, const std::string& name);

}  // namespace stopledger
