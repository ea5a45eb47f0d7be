#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "record/ledger.h"

namespace stopledger {

/// What an examination of a ledger found.
struct Verification {
  std::size_t entries = 0, files = 0;
  std::string last_digest;
  std::vector<std::string> problems;         ///< one sentence each; empty: the ledger is sound
  std::vector<std::string> repaired;         ///< computed tables that differed and were made anew
  std::optional<std::int64_t> digest_entry;  ///< entry that a digest asked about stands for
};

/// Examines the whole file: SQLite's own integrity and foreign keys; the chain of digests over
/// all entries; that every entry has its row and every row its entry; that kept logs and files
/// unpack to their digests; that sheets and outcomes are JSON. The computed tables (newest, the
/// car's row) are compared with what the records give, and made anew when they differ and the
/// ledger was opened for writing.
///
/// `digest`: of a printed history, or ""; `digest_entry` is set when an entry of the chain has it.
Verification verify_ledger(Ledger& ledger, bool repair, const std::string& digest);

/// Copies the ledger, also while others write to it, into a new file and examines the copy.
/// Throws Error(file) when `target` exists or cannot be written.
Verification backup_ledger(const Ledger& ledger, const std::string& target);

}  // namespace stopledger
