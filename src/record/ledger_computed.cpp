#include <fmt/format.h>

#include "base/error.h"
#include "record/brief.h"
#include "record/car_sheet.h"
#include "record/kinds.h"
#include "record/ledger_file.h"

namespace stopledger {

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
