#include <fmt/format.h>

#include <map>
#include <set>

#include "base/error.h"
#include "record/car_row.h"
#include "record/car_sheet.h"
#include "record/ledger.h"
#include "record/record_row.h"

namespace stopledger {

namespace {

/// Refuses a record that does not stand any more.
Record standing_record(LedgerFile& file, std::int64_t id) {
  auto record = record_with(file, id);
  if (record.removed)
    throw Error(ErrorKind::usage, fmt::format("record #{} was removed already ({}); enter the fact "
                                              "as a new record",
                                              id, record.removal_reason));
  if (record.superseded_by) {
    const auto select = file.prepared("SELECT id FROM entry WHERE uid = ?");
    select->bind(1, *record.superseded_by);
    select->executeStep();
    throw Error(ErrorKind::usage, fmt::format("record #{} was corrected already; the one that "
                                              "replaced it is #{}",
                                              id, select->getColumn(0).getInt64()));
  }
  return record;
}

void refresh_newest_of(LedgerFile& file, std::int64_t record) {
  std::int64_t car = 0;
  std::string kind;
  {
    const auto select = file.prepared("SELECT car, kind FROM record WHERE id = ?");
    select->bind(1, record);
    if (!select->executeStep()) return;
    car = select->getColumn(0).getInt64();
    kind = select->getColumn(1).getString();
  }
  file.refresh_newest(car, kind);
}

Newest read_newest(SQLite::Statement& row) {
  Newest newest{.car = row.getColumn(0).getString(),
                .kind = row.getColumn(1).getString(),
                .subject = row.getColumn(2).getString(),
                .result = row.getColumn(3).getString(),
                .day = stored_day(row.getColumn(4).getString()),
                .record = row.getColumn(5).getInt64(),
                .odometer_km = {}};
  if (!row.getColumn(6).isNull()) newest.odometer_km = row.getColumn(6).getDouble();
  return newest;
}

}  // namespace

Record Ledger::add_record(const Record& record, const EntryStamp& stamp) {
  return file_->writing([&] {
    const auto id = insert_record(*file_, record, std::nullopt, stamp);
    file_->note_newest(id);
    return record_with(*file_, id);
  });
}

Record Ledger::correct(std::int64_t id, const Record& record, const EntryStamp& stamp) {
  return file_->writing([&] {
    const auto old = standing_record(*file_, id);
    const auto now = insert_record(*file_, record, id, stamp);
    refresh_newest_of(*file_, id);
    refresh_newest_of(*file_, now);
    return record_with(*file_, now);
  });
}

void Ledger::remove(std::int64_t id, const std::string& reason, const EntryStamp& stamp) {
  if (reason.empty())
    throw Error(ErrorKind::usage, "a removal needs a reason: it stays in the trail");
  file_->writing([&] {
    standing_record(*file_, id);
    const auto entry = file_->open_entry("removal", stamp);
    {
      const auto insert =
          file_->prepared("INSERT INTO removal(id, record, reason) VALUES (?, ?, ?)");
      insert->bind(1, entry);
      insert->bind(2, id);
      insert->bind(3, reason);
      insert->exec();
    }
    file_->seal(entry);
    refresh_newest_of(*file_, id);
  });
}

Record Ledger::record(std::int64_t id) const {
  return file_->guarded([&] { return record_with(*file_, id); });
}

std::optional<Record> Ledger::record_by_uid(const std::string& uid) const {
  return file_->guarded([&] { return record_with_uid(*file_, uid); });
}

std::vector<Record> Ledger::records_of(const std::string& car, bool include_history) const {
  return file_->guarded([&] {
    auto out = records_with_car(*file_, car_row(*file_, car).id);
    if (!include_history) std::erase_if(out, [](const Record& r) { return !r.current(); });
    return out;
  });
}

std::vector<Newest> Ledger::newest_of(const std::string& car) const {
  return file_->guarded([&] {
    std::vector<Newest> out;
    const auto select = file_->prepared(
        "SELECT c.name, n.kind, n.subject, n.result, n.day, n.record, n.odometer_km "
        "FROM newest n JOIN car c ON c.id = n.car WHERE n.car = ?");
    select->bind(1, car_row(*file_, car).id);
    while (select->executeStep()) out.push_back(read_newest(*select.operator->()));
    return out;
  });
}

std::vector<Newest> Ledger::newest_of_all() const {
  return file_->guarded([&] {
    std::vector<Newest> out;
    const auto select = file_->prepared(
        "SELECT c.name, n.kind, n.subject, n.result, n.day, n.record, n.odometer_km "
        "FROM car c JOIN newest n ON n.car = c.id ORDER BY c.name");
    while (select->executeStep()) out.push_back(read_newest(*select.operator->()));
    return out;
  });
}

std::vector<Record> Ledger::open_faults(const std::string& car) const {
  const auto all = records_of(car, true);
  // A repair names the fault as it stood then; a corrected fault is still the same fault.
  std::map<std::string, std::string> replaced;
  for (const auto& record : all)
    if (record.superseded_by) replaced[record.uid] = *record.superseded_by;
  std::set<std::string> closed;
  for (const auto& record : all) {
    const auto fault = record.fields.find("fault");
    if (!record.current() || fault == record.fields.end()) continue;
    auto uid = fault->second.written;
    for (auto next = replaced.find(uid); next != replaced.end(); next = replaced.find(uid))
      uid = next->second;
    closed.insert(uid);
  }
  std::vector<Record> out;
  for (const auto& record : all)
    if (record.kind == "fault" && record.current() && !closed.contains(record.uid))
      out.push_back(record);
  return out;
}

}  // namespace stopledger
