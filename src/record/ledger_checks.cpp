#include <fmt/format.h>

#include <array>

#include "base/error.h"
#include "record/digest.h"
#include "record/ledger.h"
#include "record/record_row.h"

namespace stopledger {

namespace {

constexpr std::array role_names{"log", "photograph", "document"};

FileRole role_named(const std::string& name) {
  for (std::size_t i = 0; i < role_names.size(); ++i)
    if (name == role_names[i]) return static_cast<FileRole>(i);
  return FileRole::document;
}

void insert_file(LedgerFile& file, std::int64_t record, const KeptFile& kept,
                 const EntryStamp& stamp) {
  const auto sha256 = sha256_hex(kept.bytes);
  {
    const auto known = file.prepared("SELECT 1 FROM content WHERE sha256 = ?");
    known->bind(1, sha256);
    if (!known->executeStep()) {
      const auto packed = pack(kept.bytes);
      const auto insert =
          file.prepared("INSERT INTO content(sha256, size, packed) VALUES (?, ?, ?)");
      insert->bind(1, sha256);
      insert->bind(2, static_cast<std::int64_t>(kept.bytes.size()));
      insert->bindNoCopy(3, packed.data(), static_cast<int>(packed.size()));
      insert->exec();
    }
  }
  const auto id = file.open_entry("file", stamp);
  {
    const auto insert =
        file.prepared("INSERT INTO file(id, record, role, name, sha256) VALUES (?, ?, ?, ?, ?)");
    insert->bind(1, id);
    insert->bind(2, record);
    insert->bind(3, role_names[static_cast<std::size_t>(kept.role)]);
    insert->bind(4, kept.name);
    insert->bind(5, sha256);
    insert->exec();
  }
  file.seal(id);
}

void insert_outcome(LedgerFile& file, std::int64_t record, const std::string& outcome,
                    const std::string& engine, const EntryStamp& stamp) {
  const auto id = file.open_entry("check", stamp);
  {
    const auto insert =
        file.prepared("INSERT INTO \"check\"(id, record, engine, outcome) VALUES (?, ?, ?, ?)");
    insert->bind(1, id);
    insert->bind(2, record);
    insert->bind(3, engine);
    insert->bindNoCopy(4, outcome);
    insert->exec();
  }
  file.seal(id);
}

}  // namespace

Record Ledger::save_check(const CheckToSave& check, const EntryStamp& stamp) {
  return file_->writing([&] {
    Record record;
    record.car = check.car;
    record.kind = "exercise";
    record.day = check.day;
    record.who = check.who;
    record.note = check.note;
    record.odometer_km = check.odometer_km;
    record.odometer_written = check.odometer_written;
    record.fields = check.more_fields;
    const auto set = [&](const char* name, Result result) {
      record.fields[name] = {std::string(result_name(result)), std::nullopt};
    };
    set("result", check.outcome.result);
    set("fl", check.outcome.corners[Corner::fl].result);
    set("fr", check.outcome.corners[Corner::fr].result);
    set("rl", check.outcome.corners[Corner::rl].result);
    set("rr", check.outcome.corners[Corner::rr].result);
    set("pump", check.outcome.pump.result);
    if (!check.procedure.empty()) record.fields["procedure"] = {check.procedure, std::nullopt};
    const auto id = insert_record(*file_, record, std::nullopt, stamp);
    for (const auto& log : check.logs) insert_file(*file_, id, log, stamp);
    insert_outcome(*file_, id, check.outcome_json, check.engine, stamp);
    file_->note_newest(id);
    return record_with(*file_, id);
  });
}

void Ledger::add_outcome(std::int64_t record, const std::string& outcome_json,
                         const std::string& engine, const EntryStamp& stamp) {
  file_->writing([&] {
    record_with(*file_, record);
    insert_outcome(*file_, record, outcome_json, engine, stamp);
  });
}

std::vector<KeptCheck> Ledger::checks_of(std::int64_t record) const {
  return file_->guarded([&] {
    std::vector<KeptCheck> out;
    const auto select = file_->prepared(
        "SELECT x.record, x.engine, x.outcome, e.at FROM \"check\" x JOIN entry e ON e.id = x.id "
        "WHERE x.record = ? ORDER BY x.id");
    select->bind(1, record);
    while (select->executeStep())
      out.push_back({select->getColumn(0).getInt64(), select->getColumn(1).getString(),
                     select->getColumn(2).getString(), select->getColumn(3).getString()});
    return out;
  });
}

void Ledger::attach(std::int64_t record, const KeptFile& kept, const EntryStamp& stamp) {
  file_->writing([&] {
    record_with(*file_, record);
    insert_file(*file_, record, kept, stamp);
  });
}

std::vector<KeptFile> Ledger::files_of(std::int64_t record) const {
  return file_->guarded([&] {
    std::vector<KeptFile> out;
    const auto select = file_->prepared(
        "SELECT f.name, f.role, f.sha256, c.size, c.packed FROM file f "
        "JOIN content c ON c.sha256 = f.sha256 WHERE f.record = ? ORDER BY f.id");
    select->bind(1, record);
    while (select->executeStep()) {
      const auto packed = select->getColumn(4);
      KeptFile kept{.name = select->getColumn(0).getString(),
                    .bytes = unpack({static_cast<const char*>(packed.getBlob()),
                                     static_cast<std::size_t>(packed.getBytes())},
                                    static_cast<std::size_t>(select->getColumn(3).getInt64())),
                    .role = role_named(select->getColumn(1).getString()),
                    .sha256 = select->getColumn(2).getString()};
      if (sha256_hex(kept.bytes) != kept.sha256)
        throw Error(ErrorKind::ledger, {file_->path},
                    fmt::format("the kept file {} of record #{} is damaged: its digest differs",
                                kept.name, record));
      out.push_back(std::move(kept));
    }
    return out;
  });
}

std::vector<KeptFile> Ledger::logs_of(std::int64_t record) const {
  auto files = files_of(record);
  std::erase_if(files, [](const KeptFile& file) { return file.role != FileRole::log; });
  return files;
}

}  // namespace stopledger
