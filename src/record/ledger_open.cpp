#include <SQLiteCpp/Backup.h>
#include <fmt/format.h>

#include <array>
#include <filesystem>
#include <fstream>

#include "base/error.h"
#include "record/ledger_file.h"
#include "record/schema.h"

namespace stopledger {

namespace {

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

}  // namespace stopledger
