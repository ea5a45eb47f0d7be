#pragma once

#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <set>
#include <string>
#include <utility>

#include "record/ledger_file.h"

namespace stopledger {

/// Puts entries of an exchange file into the tables and keeps in mind what must be computed anew.
/// Used inside record/ only. Throws Error(input) without a place, json and SQLite exceptions; the
/// reader of the file knows the line.
class ForeignEntries {
 public:
  explicit ForeignEntries(LedgerFile& file) : file_(file) {}

  /// The row of entry `id`, which is open and has not been sealed.
  void insert(std::int64_t id, const std::string& what, const nlohmann::json& entry);

  std::set<std::int64_t> cars;                           ///< spoken of
  std::set<std::pair<std::int64_t, std::string>> kinds;  ///< whose newest must be computed

 private:
  std::int64_t id_of(const nlohmann::json& entry, const char* key);
  void insert_record(std::int64_t id, const nlohmann::json& entry);
  void touch(std::int64_t record);

  LedgerFile& file_;
};

}  // namespace stopledger
