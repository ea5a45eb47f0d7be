#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/error.h"
#include "record/digest.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

}  // namespace

std::int64_t LedgerFile::open_entry(const char* what, const EntryStamp& stamp,
                                    const std::string& uid) {
  const auto insert = prepared(
      "INSERT INTO entry(uid, what, at, who, digest) "
      "VALUES (coalesce(nullif(?1, ''), lower(hex(randomblob(16)))), ?2, ?3, ?4, '')");
  insert->bindNoCopy(1, uid);
  insert->bind(2, what);
  insert->bindNoCopy(3, stamp.at_utc);
  insert->bindNoCopy(4, stamp.who);
  insert->exec();
  return database_.getLastInsertRowid();
}

std::string LedgerFile::seal(std::int64_t id) {
  std::string before;
  {
    const auto select = prepared("SELECT digest FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1");
    select->bind(1, id);
    if (select->executeStep()) before = select->getColumn(0).getString();
  }
  const auto digest = sha256_hex(before + entry_json(id));
  const auto update = prepared("UPDATE entry SET digest = ? WHERE id = ?");
  update->bindNoCopy(1, digest);
  update->bind(2, id);
  update->exec();
  return digest;
}

std::string LedgerFile::last_digest() {
  const auto select = prepared("SELECT digest FROM entry ORDER BY id DESC LIMIT 1");
  std::string digest;
  if (select->executeStep()) digest = select->getColumn(0).getString();
  return digest;
}

std::string LedgerFile::entry_json(std::int64_t id) {
  const auto entry = prepared("SELECT uid, what, at, who FROM entry WHERE id = ?");
  entry->bind(1, id);
  if (!entry->executeStep()) throw Error(ErrorKind::ledger, {path}, "an entry is missing");
  const std::string what = entry->getColumn(1).getString();
  json out{{"uid", entry->getColumn(0).getString()},
           {"what", what},
           {"at", entry->getColumn(2).getString()},
           {"by", entry->getColumn(3).getString()}};
  // Each row names its columns as they stand in the JSON; empty texts and NULLs are left out.
  const auto add_row = [&](const char* sql) {
    const auto select = prepared(sql);
    select->bind(1, id);
    if (!select->executeStep())
      throw Error(ErrorKind::ledger, {path},
                  fmt::format("entry {} has lost its row in table {}", id, what));
    for (int i = 0; i < select->getColumnCount(); ++i) {
      const auto column = select->getColumn(i);
      if (column.isFloat()) {
        out[column.getName()] = column.getDouble();
      } else if (column.isInteger()) {
        out[column.getName()] = column.getInt64();
      } else if (column.isText() && column.getBytes() > 0) {
        out[column.getName()] = column.getString();
      }
    }
  };
  if (what == "sheet") {
    add_row(
        "SELECT e.uid AS car, s.version, s.body, s.reason FROM sheet s JOIN entry e ON e.id = "
        "s.car "
        "WHERE s.id = ?");
  } else if (what == "record") {
    add_row(
        "SELECT c.uid AS car, r.kind, r.day, r.odometer_km, r.odometer, r.who, r.signed_by, "
        "r.note, s.uid AS supersedes FROM record r JOIN entry c ON c.id = r.car "
        "LEFT JOIN entry s ON s.id = r.supersedes WHERE r.id = ?");
    const auto fields = prepared("SELECT name, written, value FROM field WHERE record = ?");
    fields->bind(1, id);
    while (fields->executeStep()) {
      auto& field = out["fields"][fields->getColumn(0).getString()];
      field["written"] = fields->getColumn(1).getString();
      if (!fields->getColumn(2).isNull()) field["value"] = fields->getColumn(2).getDouble();
    }
  } else if (what == "removal") {
    add_row(
        "SELECT e.uid AS record, x.reason FROM removal x JOIN entry e ON e.id = x.record "
        "WHERE x.id = ?");
  } else if (what == "check") {
    add_row(
        "SELECT e.uid AS record, x.engine, x.outcome FROM \"check\" x "
        "JOIN entry e ON e.id = x.record WHERE x.id = ?");
  } else if (what == "file") {
    add_row(
        "SELECT e.uid AS record, x.role, x.name, x.sha256 FROM file x "
        "JOIN entry e ON e.id = x.record WHERE x.id = ?");
  } else if (what == "plan") {
    add_row(
        "SELECT e.uid AS car, x.day, x.body FROM plan x JOIN entry e ON e.id = x.car "
        "WHERE x.id = ?");
  } else if (what == "plan_end") {
    add_row(
        "SELECT e.uid AS plan, x.reason FROM plan_end x JOIN entry e ON e.id = x.plan "
        "WHERE x.id = ?");
  } else {
    add_row("SELECT NULL AS car FROM car WHERE id = ?");
  }
  try {
    return out.dump();
  } catch (const json::type_error&) {
    throw Error(ErrorKind::usage, {path}, "the text of a field is not UTF-8; write it again");
  }
}

}  // namespace stopledger
