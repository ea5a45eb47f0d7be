#include "record/ledger_file.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include "base/error.h"
#include "record/measure.h"

namespace stopledger {

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

}  // namespace stopledger
