#include <fmt/format.h>

#include <array>
#include <filesystem>
#include <fstream>

#include "base/error.h"
#include "record/exchange.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

/// RFC 4180: quoted when it holds a comma, a quote or a line end; quotes doubled.
std::string cell(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  return out + '"';
}

struct Table {
  const char* name;
  const char* sql;
};

constexpr std::array tables{
    Table{"cars",
          "SELECT e.uid, c.name, c.state, s.version, se.at AS changed_at, se.who AS changed_by, "
          "s.reason, s.body AS sheet_json FROM car c JOIN entry e ON e.id = c.id "
          "JOIN sheet s ON s.car = c.id JOIN entry se ON se.id = s.id ORDER BY c.id, s.id"},
    Table{"records",
          "SELECT e.uid, r.id AS number, c.name AS car, r.kind, r.day, r.odometer, r.odometer_km, "
          "r.who, r.signed_by, r.note, e.at AS entered_at, e.who AS entered_by, "
          "(SELECT s.uid FROM entry s WHERE s.id = r.supersedes) AS supersedes, "
          "EXISTS (SELECT 1 FROM record s WHERE s.supersedes = r.id) AS superseded, "
          "EXISTS (SELECT 1 FROM removal x WHERE x.record = r.id) AS removed, e.digest "
          "FROM record r JOIN entry e ON e.id = r.id JOIN car c ON c.id = r.car ORDER BY r.id"},
    Table{"fields",
          "SELECT e.uid AS record, f.name, f.written, f.value FROM field f "
          "JOIN entry e ON e.id = f.record ORDER BY f.record, f.name"},
    Table{"removals",
          "SELECT e.uid, r.uid AS record, x.reason, e.at, e.who FROM removal x "
          "JOIN entry e ON e.id = x.id JOIN entry r ON r.id = x.record ORDER BY x.id"},
    Table{"files",
          "SELECT e.uid, r.uid AS record, f.role, f.name, f.sha256, c.size FROM file f "
          "JOIN entry e ON e.id = f.id JOIN entry r ON r.id = f.record "
          "JOIN content c ON c.sha256 = f.sha256 ORDER BY f.id"},
    Table{"checks",
          "SELECT e.uid, r.uid AS record, x.engine, x.outcome AS outcome_json, e.at "
          "FROM \"check\" x JOIN entry e ON e.id = x.id JOIN entry r ON r.id = x.record "
          "ORDER BY x.id"},
};

}  // namespace

void export_csv(const Ledger& ledger, const std::string& folder) {
  namespace fs = std::filesystem;
  std::error_code code;
  fs::create_directories(folder, code);
  if (code) throw Error(ErrorKind::file, {folder}, "cannot be made: " + code.message());
  auto& file = ledger.file();
  file.reading([&] {
    for (const auto& table : tables) {
      const auto path = (fs::path(folder) / (std::string(table.name) + ".csv")).string();
      if (fs::exists(path))
        throw Error(ErrorKind::file, {path}, "exists already; choose another folder");
      std::ofstream out(path, std::ios::binary);
      const auto select = file.prepared(table.sql);
      for (int i = 0; i < select->getColumnCount(); ++i)
        out << (i == 0 ? "" : ",") << select->getColumnName(i);
      out << "\r\n";
      while (select->executeStep()) {
        for (int i = 0; i < select->getColumnCount(); ++i)
          out << (i == 0 ? "" : ",") << cell(select->getColumn(i).getString());
        out << "\r\n";
      }
      out.close();
      if (!out) throw Error(ErrorKind::file, {path}, "could not be written (disk full?)");
    }
  });
}

}  // namespace stopledger
