#pragma once

#include <iosfwd>
#include <string>
#include <vector>

#include "record/ledger.h"

namespace stopledger {

/// What the first line of an exchange file says of its format.
inline constexpr const char* exchange_format = "stopledger.ledger/1";

/// A procedure file that travels with a car.
struct CarriedProcedure {
  std::string id;
  std::string text;  ///< the TOML file
};

/// What reading an exchange file did.
struct ImportReport {
  std::size_t added = 0;               ///< entries that were new here
  std::size_t known = 0;               ///< entries that were here already
  std::vector<std::string> cars;       ///< cars the file speaks of, by their names here
  std::vector<std::string> conflicts;  ///< where both sides said something; one sentence each
  std::vector<CarriedProcedure> procedures;
};

/// Writes the whole ledger, or one car with everything that belongs to it and nothing of other
/// cars, as JSON Lines (format: src/record/SCHEMA.md). The same ledger gives the same bytes.
/// Throws Error(ledger) when a kept file is damaged.
void export_ledger(const Ledger& ledger, std::ostream& out);
void export_car(const Ledger& ledger, const std::string& car,
                const std::vector<CarriedProcedure>& procedures, std::ostream& out);

/// Reads an exchange file into the ledger in one transaction: entries that are here already are
/// left out, all others are added with their own times and people.
///
/// `rename`: name for the file's car here ("" keeps its own).
/// Throws Error(input) with the line for a file that is cut short, altered or of a newer format,
/// Error(usage) when another car has the same name here. Nothing is then changed.
ImportReport import_entries(Ledger& ledger, std::istream& in, const std::string& file_name,
                            const std::string& rename, const EntryStamp& stamp);

/// Writes cars.csv, records.csv, fields.csv, removals.csv, files.csv and checks.csv (RFC 4180)
/// into a folder, which is made. Throws Error(file).
void export_csv(const Ledger& ledger, const std::string& folder);

}  // namespace stopledger
