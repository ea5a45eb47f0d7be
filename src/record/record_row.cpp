#include "record/record_row.h"

#include <fmt/format.h>

#include "base/error.h"
#include "record/car_row.h"
#include "record/measure.h"

namespace stopledger {

namespace {

#define STOPLEDGER_RECORD_COLUMNS                                                              \
  "SELECT r.id, e.uid, c.name, r.kind, r.day, r.odometer_km, r.odometer, r.who, r.signed_by, " \
  "r.note, e.at, e.who, "                                                                      \
  "(SELECT s.uid FROM entry s WHERE s.id = r.supersedes), "                                    \
  "(SELECT s.uid FROM record n JOIN entry s ON s.id = n.id WHERE n.supersedes = r.id "         \
  " ORDER BY n.id DESC LIMIT 1), "                                                             \
  "(SELECT x.reason FROM removal x WHERE x.record = r.id ORDER BY x.id LIMIT 1) "              \
  "FROM record r JOIN entry e ON e.id = r.id JOIN car c ON c.id = r.car "

Record read_record(LedgerFile& file, SQLite::Statement& row) {
  Record record;
  record.id = row.getColumn(0).getInt64();
  record.uid = row.getColumn(1).getString();
  record.car = row.getColumn(2).getString();
  record.kind = row.getColumn(3).getString();
  record.day = stored_day(row.getColumn(4).getString());
  if (!row.getColumn(5).isNull()) record.odometer_km = row.getColumn(5).getDouble();
  record.odometer_written = row.getColumn(6).getString();
  record.who = row.getColumn(7).getString();
  record.signed_by = row.getColumn(8).getString();
  record.note = row.getColumn(9).getString();
  record.entered_at = row.getColumn(10).getString();
  record.entered_by = row.getColumn(11).getString();
  if (!row.getColumn(12).isNull()) record.supersedes = row.getColumn(12).getString();
  if (!row.getColumn(13).isNull()) record.superseded_by = row.getColumn(13).getString();
  if (!row.getColumn(14).isNull()) {
    record.removed = true;
    record.removal_reason = row.getColumn(14).getString();
  }
  const auto fields = file.prepared("SELECT name, written, value FROM field WHERE record = ?");
  fields->bind(1, record.id);
  while (fields->executeStep()) {
    FieldValue value{fields->getColumn(1).getString(), std::nullopt};
    if (!fields->getColumn(2).isNull()) value.normalised = fields->getColumn(2).getDouble();
    record.fields[fields->getColumn(0).getString()] = value;
  }
  return record;
}

}  // namespace

Day stored_day(const std::string& text) {
  const auto day = parse_day(text);
  if (!day) throw Error(ErrorKind::ledger, fmt::format("\"{}\" in the ledger is no day", text));
  return *day;
}

Record record_with(LedgerFile& file, std::int64_t id) {
  const auto select = file.prepared(STOPLEDGER_RECORD_COLUMNS "WHERE r.id = ?");
  select->bind(1, id);
  if (!select->executeStep())
    throw Error(ErrorKind::usage, fmt::format("there is no record #{} in {}; stopledger history "
                                              "shows the numbers",
                                              id, file.path));
  return read_record(file, *select.operator->());
}

std::optional<Record> record_with_uid(LedgerFile& file, const std::string& uid) {
  const auto select = file.prepared(STOPLEDGER_RECORD_COLUMNS "WHERE e.uid = ?");
  select->bind(1, uid);
  if (!select->executeStep()) return std::nullopt;
  return read_record(file, *select.operator->());
}

std::vector<Record> records_with_car(LedgerFile& file, std::int64_t car) {
  std::vector<Record> out;
  const auto select =
      file.prepared(STOPLEDGER_RECORD_COLUMNS "WHERE r.car = ? ORDER BY r.day, r.id");
  select->bind(1, car);
  while (select->executeStep()) out.push_back(read_record(file, *select.operator->()));
  return out;
}

std::int64_t insert_record(LedgerFile& file, const Record& record,
                           std::optional<std::int64_t> supersedes, const EntryStamp& stamp) {
  const auto car = car_row(file, record.car);
  const auto id = file.open_entry("record", stamp);
  {
    const auto insert = file.prepared(
        "INSERT INTO record(id, car, kind, day, odometer_km, odometer, who, signed_by, note, "
        "supersedes) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    insert->bind(1, id);
    insert->bind(2, car.id);
    insert->bind(3, record.kind);
    insert->bind(4, format_day(record.day));
    if (record.odometer_km) {
      insert->bind(5, *record.odometer_km);
      insert->bind(6, record.odometer_written.empty() ? plain_number(*record.odometer_km) + " km"
                                                      : record.odometer_written);
    }
    insert->bind(7, record.who);
    insert->bind(8, record.signed_by);
    insert->bind(9, record.note);
    if (supersedes) insert->bind(10, *supersedes);
    insert->exec();
  }
  for (const auto& [name, value] : record.fields) {
    const auto insert =
        file.prepared("INSERT INTO field(record, name, written, value) VALUES (?, ?, ?, ?)");
    insert->bind(1, id);
    insert->bind(2, name);
    insert->bind(3, value.written);
    if (value.normalised) insert->bind(4, *value.normalised);
    insert->exec();
  }
  file.seal(id);
  return id;
}

}  // namespace stopledger
