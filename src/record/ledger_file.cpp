#include "record/ledger_file.h"

#include <SQLiteCpp/Backup.h>
#include <fmt/format.h>
#include <sqlite3.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "base/error.h"
#include "record/brief.h"
#include "record/car_sheet.h"
#include "record/digest.h"
#include "record/kinds.h"
#include "record/schema.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

/// A name such as ":memory:" is a file like any other.
std::string as_file(const std::string& path) { return path.front() == '/' ? path : "./" + path; }

/// False for a file that SQLite would take for an empty database, and overwrite, although
/// something stands in it.
bool may_be_sqlite(const std::string& path) {
  constexpr std::string_view magic("SQLite format 3\0", 16);
  std::ifstream in(path, std::ios::binary);
  std::array<char, magic.size()> head{};
  in.read(head.data(), head.size());
  return in.gcount() == 0 || std::string_view(head.data(), head.size()) == magic;
}

SQLite::Database open(const std::string& path, Ledger::Mode mode, int wait_ms) {
  namespace fs = std::filesystem;
  if (path.empty()) throw Error(ErrorKind::usage, "the name of the ledger file is empty");
  std::error_code code;
  if (fs::is_directory(path, code))
    throw Error(ErrorKind::ledger, {path}, "is a folder; name a file in it");
  int flags = SQLite::OPEN_READWRITE;  // SQLite opens a write-protected file for reading instead
  if (!fs::exists(path, code)) {
    // A folder that is not there is more often a misspelt one than one to be made.
    const auto folder = fs::path(path).parent_path();
    const bool lost = !folder.empty() && !fs::is_directory(folder, code);
    if (mode != Ledger::Mode::create)
      throw Error(ErrorKind::ledger, {path},
                  fmt::format("there is no ledger here{}; stopledger car add makes one, or name "
                              "another with --ledger FILE",
                              lost ? fmt::format(", and no folder {}", folder.string()) : ""));
    if (lost)
      throw Error(ErrorKind::file, {path},
                  fmt::format("there is no folder {}: correct the name, or make the folder first",
                              folder.string()));
    flags |= SQLite::OPEN_CREATE;
  } else if (!may_be_sqlite(path)) {
    throw Error(ErrorKind::ledger, {path},
                "is not a ledger (not an SQLite file); name another with --ledger FILE");
  }
  try {
    return {as_file(path), flags, wait_ms};
  } catch (const SQLite::Exception& exception) {
    throw Error(
        ErrorKind::file, {path},
        fmt::format("cannot be opened ({}); check the name and the permissions", exception.what()));
  }
}

}  // namespace

LedgerFile::LedgerFile(const std::string& path_, Ledger::Mode mode, int wait_ms)
    : path(path_), wait_ms_(wait_ms), database_(open(path_, mode, wait_ms)) {
  guarded([&] {
    // A reported save must survive a power cut: EXTRA also syncs the folder after the journal
    // is deleted. The default rollback journal leaves one file that can be copied and that opens
    // on read-only media.
    database_.exec(
        "PRAGMA foreign_keys = ON; PRAGMA synchronous = EXTRA; "
        "PRAGMA trusted_schema = OFF");
    prepare_schema(mode);
    if (mode == Ledger::Mode::read) database_.exec("PRAGMA query_only = ON");
  });
}

void LedgerFile::prepare_schema(Ledger::Mode mode) {
  const auto steps = schema_steps();
  const auto newest = static_cast<int>(steps.size());
  const auto version = [&] { return database_.execAndGet("PRAGMA user_version").getInt(); };
  const auto fresh = [&] {
    return database_.execAndGet("SELECT count(*) FROM sqlite_schema").getInt() == 0 &&
           version() == 0;
  };
  const bool is_fresh = fresh();
  if (is_fresh && mode != Ledger::Mode::create)
    throw Error(ErrorKind::ledger, {path}, "is empty; stopledger car add begins a ledger in it");
  if (!is_fresh && database_.execAndGet("PRAGMA application_id").getInt() != ledger_application_id)
    throw Error(ErrorKind::ledger, {path}, "is an SQLite file of another program, not a ledger");
  if (version() > newest)
    throw Error(ErrorKind::ledger, {path},
                fmt::format("was written by a newer stopledger (schema {}, this program knows {}); "
                            "use that one. Nothing was changed",
                            version(), newest));
  if (version() == newest) return;
  begin();
  const int from = version();  // another program may have been first
  if (from < newest) {
    if (!is_fresh) notices.push_back(backup_before(from));
    for (int step = from; step < newest; ++step)
      database_.exec(steps[static_cast<std::size_t>(step)]);
    database_.exec(fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {}",
                               ledger_application_id, newest));
    // Computed rows that an older schema did not have.
    const auto cars = prepared("SELECT id FROM car");
    while (cars->executeStep()) touched_.insert(cars->getColumn(0).getInt64());
  }
  commit();
}

std::string LedgerFile::backup_before(int version) {
  // A second connection reads the last committed state while this one holds the write lock.
  std::string name = fmt::format("{}.schema-{}", path, version);
  for (int n = 2; std::filesystem::exists(name); ++n)
    name = fmt::format("{}.schema-{}.{}", path, version, n);
  copy_to(name);
  return fmt::format("{}: brought from schema {} to {}; a copy of the old file is {}", path,
                     version, schema_steps().size(), name);
}

void LedgerFile::copy_to(const std::string& target) const {
  SQLite::Database source(as_file(path), SQLite::OPEN_READONLY, wait_ms_);
  try {
    SQLite::Database copy(as_file(target), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    SQLite::Backup backup(copy, source);
    backup.executeStep(-1);
  } catch (const SQLite::Exception& exception) {
    throw Error(ErrorKind::file, {target},
                fmt::format("the copy could not be written ({})", exception.what()));
  }
}

void LedgerFile::fail(const SQLite::Exception& exception) const {
  const std::string reason = exception.what();
  switch (exception.getErrorCode() & 0xFF) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      throw Error(ErrorKind::ledger, {path},
                  fmt::format("another program is using the ledger (waited {} s). Nothing was "
                              "changed; try again",
                              plain_number(wait_ms_ / 1000.0)));
    case SQLITE_FULL:
      throw Error(ErrorKind::ledger, {path},
                  "the disk is full. Nothing was saved; make room and do it again");
    case SQLITE_IOERR:
      throw Error(
          ErrorKind::ledger, {path},
          fmt::format("the disk cannot be read or written ({}). Nothing was saved", reason));
    case SQLITE_NOTADB:
      throw Error(ErrorKind::ledger, {path},
                  "is not a ledger (not an SQLite file); name another with --ledger FILE");
    case SQLITE_CORRUPT:
      throw Error(
          ErrorKind::ledger, {path},
          fmt::format("is damaged ({}). Keep a copy as it is and go back to the last backup",
                      reason));
    case SQLITE_READONLY:
      throw Error(ErrorKind::ledger, {path},
                  "cannot be written: the file or its medium is read-only. Nothing was changed");
    case SQLITE_CANTOPEN:
      throw Error(ErrorKind::ledger, {path},
                  "cannot be opened or written beside; check the permissions of file and folder");
    default:
      throw Error(ErrorKind::ledger, {path}, reason);
  }
}

Prepared LedgerFile::prepared(const char* sql) {
  auto found = statements_.find(sql);
  if (found == statements_.end()) found = statements_.try_emplace(sql, database_, sql).first;
  found->second.reset();
  found->second.clearBindings();
  return Prepared(found->second);
}

void LedgerFile::begin() {
  // IMMEDIATE: waits for the write lock here, not half-way.
  database_.exec("BEGIN IMMEDIATE");
  in_transaction_ = true;
}

void LedgerFile::commit() {
  for (const auto car : touched_) refresh_brief(car);
  touched_.clear();
  for (auto& [sql, statement] : statements_) statement.tryReset();
  database_.exec("COMMIT");
  in_transaction_ = false;
}

void LedgerFile::rollback() noexcept {
  touched_.clear();
  for (auto& [sql, statement] : statements_) statement.tryReset();
  database_.tryExec("ROLLBACK");  // fails when SQLite has rolled back by itself
  in_transaction_ = false;
}

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

std::string LedgerFile::standing_body(std::int64_t car) {
  // Two ledgers may both have made version n of a sheet: the later one stands on both sides.
  const auto select = prepared(
      "SELECT s.body FROM sheet s JOIN entry e ON e.id = s.id WHERE s.car = ? "
      "ORDER BY s.version DESC, e.at DESC, e.uid DESC LIMIT 1");
  select->bind(1, car);
  if (!select->executeStep())
    throw Error(ErrorKind::ledger, {path}, fmt::format("car {} has no sheet", car));
  return select->getColumn(0).getString();
}

void LedgerFile::refresh_car(std::int64_t car) {
  touched_.insert(car);
  const auto body = standing_body(car);
  const auto sheet = parse_car_json(body);
  const auto update = prepared("UPDATE car SET name = ?, state = ?, body = ? WHERE id = ?");
  update->bind(1, sheet.facts.name);
  update->bind(2, std::string(car_state_name(sheet.state)));
  update->bind(3, body);
  update->bind(4, car);
  update->exec();
}

void LedgerFile::add_sheet(std::int64_t car, const CarSheet& sheet, const std::string& reason,
                           const EntryStamp& stamp) {
  const auto id = open_entry("sheet", stamp);
  {
    const auto insert = prepared(
        "INSERT INTO sheet(id, car, version, body, reason) VALUES (?1, ?2, "
        "(SELECT coalesce(max(version), 0) + 1 FROM sheet WHERE car = ?2), ?3, ?4)");
    insert->bind(1, id);
    insert->bind(2, car);
    insert->bind(3, car_json(sheet));
    insert->bind(4, reason);
    insert->exec();
  }
  seal(id);
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

void LedgerFile::refresh_brief(std::int64_t car) {
  const auto body = write_brief(*this, car);
  const auto insert = prepared("INSERT OR REPLACE INTO brief(car, body) VALUES (?, ?)");
  insert->bind(1, car);
  insert->bindNoCopy(2, body);
  insert->exec();
}

void LedgerFile::note_newest(std::int64_t record) {
  const auto read = prepared("SELECT kind, car FROM record WHERE id = ?");
  read->bind(1, record);
  if (!read->executeStep()) return;
  touched_.insert(read->getColumn(1).getInt64());
  const auto* kind = known_kind(read->getColumn(0).getString());
  const auto insert = prepared(
      "INSERT INTO newest(car, kind, subject, result, day, record, odometer_km) "
      "SELECT r.car, r.kind, coalesce(s.written, ''), coalesce(t.written, ''), r.day, r.id, "
      "r.odometer_km FROM record r "
      "LEFT JOIN field s ON s.record = r.id AND s.name = ?2 "
      "LEFT JOIN field t ON t.record = r.id AND t.name = ?3 WHERE r.id = ?1 "
      "ON CONFLICT DO UPDATE SET day = excluded.day, record = excluded.record, "
      "odometer_km = excluded.odometer_km "
      "WHERE (excluded.day, excluded.record) > (day, record)");
  insert->bind(1, record);
  insert->bind(2, std::string(kind == nullptr ? "" : kind->subject));
  insert->bind(3, std::string(kind == nullptr ? "" : kind->result));
  insert->exec();
}

void LedgerFile::refresh_newest(std::int64_t car, const std::string& kind) {
  touched_.insert(car);
  const auto clear = prepared("DELETE FROM newest WHERE car = ? AND kind = ?");
  clear->bind(1, car);
  clear->bind(2, kind);
  clear->exec();
  const auto select = prepared(
      "SELECT id FROM record r WHERE car = ? AND kind = ? "
      "AND NOT EXISTS (SELECT 1 FROM record s WHERE s.supersedes = r.id) "
      "AND NOT EXISTS (SELECT 1 FROM removal x WHERE x.record = r.id)");
  select->bind(1, car);
  select->bind(2, kind);
  std::vector<std::int64_t> standing;
  while (select->executeStep()) standing.push_back(select->getColumn(0).getInt64());
  for (const auto id : standing) note_newest(id);
}

}  // namespace stopledger
