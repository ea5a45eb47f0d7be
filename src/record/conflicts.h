#pragma once

#include <string>
#include <vector>

#include "record/ledger.h"

namespace stopledger {

/// Where two ledgers that were brought together say different things, until a person settles it.
struct Conflict {
  std::string car;
  std::string text;  ///< what stands now, and how to settle it
  std::string key;   ///< the same for the same conflict, whatever was done about it since
};

/// The conflicts of one car (all cars: "") that nobody has settled yet:
/// a record that was corrected on both sides, until only one correction stands; a record that was
/// corrected on one side and removed on the other, until the correction is removed or corrected
/// again; a sheet that was changed on both sides, until it is edited again.
std::vector<Conflict> unsettled_conflicts(const Ledger& ledger, const std::string& car);

/// The same of all cars, those included that a later correction or edit has settled: what an import
/// brings is compared by `key` with what was there before. Used inside record/ only.
std::vector<Conflict> all_conflicts(LedgerFile& file);

}  // namespace stopledger
