#include "record/verify.h"

#include <SQLiteCpp/Backup.h>
#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/error.h"
#include "record/car_sheet.h"
#include "record/digest.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

class Examination {
 public:
  Examination(LedgerFile& file, Verification& out) : file_(file), out_(out) {}

  void sqlite() {
    for (const char* pragma : {"PRAGMA integrity_check", "PRAGMA foreign_key_check"}) {
      const auto select = file_.prepared(pragma);
      while (select->executeStep()) {
        const auto text = select->getColumn(0).getString();
        if (text == "ok") continue;
        problem(std::string(pragma) + ": " + text);
      }
    }
  }

  void chain(const std::string& digest) {
    std::string before;
    const auto select = file_.prepared("SELECT id, digest FROM entry ORDER BY id");
    while (select->executeStep()) {
      const auto id = select->getColumn(0).getInt64();
      const auto kept = select->getColumn(1).getString();
      ++out_.entries;
      try {
        if (sha256_hex(before + file_.entry_json(id)) != kept)
          problem(fmt::format("entry {} was altered after it was saved: its digest differs", id));
      } catch (const Error& error) {
        problem(error.what());
      }
      // Go on from the digest as kept, so that one altered entry is named and not all after it.
      before = kept;
      if (kept == digest) out_.digest_entry = id;
    }
    out_.last_digest = before;
  }

  /// Rows that no entry of their kind stands for.
  void orphans() {
    for (const std::string table :
         {"car", "sheet", "record", "removal", "check", "file", "plan", "plan_end"}) {
      SQLite::Statement select(
          file_.database(),
          fmt::format("SELECT t.id FROM \"{0}\" t LEFT JOIN entry e ON e.id = t.id "
                      "AND e.what = '{0}' WHERE e.id IS NULL",
                      table));
      while (select.executeStep())
        problem(
            fmt::format("row {} of table {} has no entry: it was added behind the ledger's back",
                        select.getColumn(0).getInt64(), table));
    }
  }

  void contents() {
    const auto select = file_.prepared("SELECT sha256, size, packed FROM content");
    while (select->executeStep()) {
      ++out_.files;
      const auto sha256 = select->getColumn(0).getString();
      const auto packed = select->getColumn(2);
      try {
        const auto bytes = unpack({static_cast<const char*>(packed.getBlob()),
                                   static_cast<std::size_t>(packed.getBytes())},
                                  static_cast<std::size_t>(select->getColumn(1).getInt64()));
        if (sha256_hex(bytes) != sha256) problem("kept file " + sha256 + " was altered");
      } catch (const Error& error) {
        problem(fmt::format("kept file {}: {}", sha256, error.what()));
      }
    }
  }

  void documents() {
    for (const char* sql : {"SELECT id, outcome FROM \"check\"", "SELECT id, body FROM plan",
                            "SELECT id, body FROM sheet"}) {
      const auto select = file_.prepared(sql);
      while (select->executeStep())
        if (!json::accept(select->getColumn(1).getString()))
          problem(
              fmt::format("the document of entry {} is no JSON", select->getColumn(0).getInt64()));
    }
  }

  /// Compares computed rows with what the facts give; inside a transaction that is kept only when
  /// repairing.
  void computed(bool repair) {
    const auto listed = [&](const char* sql) {
      std::vector<std::string> rows;
      const auto select = file_.prepared(sql);
      while (select->executeStep()) rows.push_back(select->getColumn(0).getString());
      return rows;
    };
    constexpr const char* newest_rows =
        "SELECT json_array(car, kind, subject, result, day, record, odometer_km) FROM newest";
    constexpr const char* car_rows = "SELECT json_array(id, name, state, body) FROM car";
    constexpr const char* brief_rows = "SELECT json_array(car, body) FROM brief";
    const auto newest = listed(newest_rows), cars = listed(car_rows), briefs = listed(brief_rows);
    file_.database().exec("DELETE FROM newest");
    std::vector<std::pair<std::int64_t, std::string>> kinds;
    std::vector<std::int64_t> ids;
    {
      const auto select = file_.prepared("SELECT DISTINCT car, kind FROM record");
      while (select->executeStep())
        kinds.emplace_back(select->getColumn(0).getInt64(), select->getColumn(1).getString());
      const auto all = file_.prepared("SELECT id FROM car");
      while (all->executeStep()) ids.push_back(all->getColumn(0).getInt64());
    }
    for (const auto& [car, kind] : kinds) file_.refresh_newest(car, kind);
    for (const auto car : ids) file_.refresh_car(car);
    for (const auto car : ids) file_.refresh_brief(car);
    const auto told = [&](bool same, const char* what) {
      if (same) return;
      if (repair) {
        out_.repaired.emplace_back(what);
      } else {
        problem(fmt::format("{} does not fit the records; stopledger ledger verify makes it anew",
                            what));
      }
    };
    told(listed(newest_rows) == newest, "the table of newest records");
    told(listed(brief_rows) == briefs, "the table of what decides what is due");
    told(listed(car_rows) == cars, "the table of cars");
  }

 private:
  void problem(std::string text) {
    // Chosen: enough to see what happened; a damaged disk can give millions.
    if (out_.problems.size() < 100) out_.problems.push_back(std::move(text));
  }

  LedgerFile& file_;
  Verification& out_;
};

}  // namespace

Verification verify_ledger(Ledger& ledger, bool repair, const std::string& digest) {
  auto& file = ledger.file();
  Verification out;
  Examination examination(file, out);
  file.reading([&] {
    examination.sqlite();
    examination.chain(digest);
    examination.orphans();
    examination.contents();
    examination.documents();
  });
  // With a damaged chain the records are no ground to compute anything from.
  if (out.problems.empty() && repair) file.writing([&] { examination.computed(true); });
  return out;
}

Verification backup_ledger(const Ledger& ledger, const std::string& target) {
  namespace fs = std::filesystem;
  if (fs::exists(target))
    throw Error(ErrorKind::file, {target}, "exists already; choose another name for the backup");
  const std::string unfinished = target + ".unfinished";
  std::error_code ignored;
  fs::remove(unfinished, ignored);
  try {
    ledger.file().copy_to(unfinished);
    Verification out;
    {
      Ledger copy(unfinished, Ledger::Mode::read);
      out = verify_ledger(copy, false, "");
    }
    fs::rename(unfinished, target);
    return out;
  } catch (...) {
    fs::remove(unfinished, ignored);
    throw;
  }
}

}  // namespace stopledger
