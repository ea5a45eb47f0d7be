#include "record/ledger.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <set>

#include "base/error.h"
#include "record/brief.h"
#include "record/car_sheet.h"
#include "record/digest.h"
#include "record/kinds.h"
#include "record/ledger_file.h"
#include "record/record_row.h"

namespace stopledger {

namespace {

struct CarRow {
  std::int64_t id = 0;
  std::string name;  ///< as the ledger spells it
};

CarRow car_row(LedgerFile& file, const std::string& name) {
  {
    const auto select = file.prepared("SELECT id, name FROM car WHERE name = ?");
    select->bind(1, name);
    if (select->executeStep())
      return {select->getColumn(0).getInt64(), select->getColumn(1).getString()};
  }
  std::vector<std::string> names;
  const auto all = file.prepared("SELECT name FROM car");
  while (all->executeStep()) names.push_back(all->getColumn(0).getString());
  const auto near = near_names(name, names);
  throw Error(ErrorKind::usage,
              fmt::format("no car \"{}\" in {}; {}", name, file.path,
                          near.empty() ? "stopledger car list shows the cars"
                                       : fmt::format("did you mean {}?", fmt::join(near, ", "))));
}

void check_name(const std::string& name) {
  const bool bad = name.empty() || name.size() > 200 || name.front() == ' ' || name.back() == ' ' ||
                   std::any_of(name.begin(), name.end(), [](char c) {
                     return static_cast<unsigned char>(c) < 0x20 || c == 0x7F;
                   });
  if (bad)
    throw Error(ErrorKind::usage,
                fmt::format("\"{}\" cannot be the name of a car: 1 to 200 characters on one line, "
                            "no space at its ends",
                            name));
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

Ledger::Ledger(const std::string& path, Mode mode, int wait_ms)
    : file_(std::make_unique<LedgerFile>(path, mode, wait_ms)) {}
Ledger::~Ledger() = default;
Ledger::Ledger(Ledger&&) noexcept = default;
Ledger& Ledger::operator=(Ledger&&) noexcept = default;

const std::string& Ledger::path() const { return file_->path; }
const std::vector<std::string>& Ledger::notices() const { return file_->notices; }

bool Ledger::read_only() const {
  return sqlite3_db_readonly(file_->database().getHandle(), "main") == 1;
}

void Ledger::begin() {
  file_->guarded([&] { file_->begin(); });
}
void Ledger::commit() {
  file_->guarded([&] { file_->commit(); });
}
void Ledger::rollback() { file_->rollback(); }

void Ledger::add_car(const CarSheet& sheet, const EntryStamp& stamp) {
  check_name(sheet.facts.name);
  file_->writing([&] {
    if (find_car(sheet.facts.name))
      throw Error(ErrorKind::usage, fmt::format("there is a car \"{}\" already; change it with "
                                                "stopledger car edit, or choose another name",
                                                sheet.facts.name));
    const auto id = file_->open_entry("car", stamp);
    {
      const auto insert =
          file_->prepared("INSERT INTO car(id, name, state, body) VALUES (?, ?, 'active', '')");
      insert->bind(1, id);
      insert->bind(2, sheet.facts.name);
      insert->exec();
    }
    file_->seal(id);
    file_->add_sheet(id, sheet, "", stamp);
    file_->refresh_car(id);
  });
}

void Ledger::edit_car(const std::string& name, const CarSheet& sheet, const std::string& reason,
                      const EntryStamp& stamp) {
  check_name(sheet.facts.name);
  file_->writing([&] {
    const auto car = car_row(*file_, name);
    const auto taken = file_->prepared("SELECT 1 FROM car WHERE name = ? AND id <> ?");
    taken->bind(1, sheet.facts.name);
    taken->bind(2, car.id);
    if (taken->executeStep())
      throw Error(ErrorKind::usage,
                  fmt::format("there is another car \"{}\" already", sheet.facts.name));
    file_->add_sheet(car.id, sheet, reason, stamp);
    file_->refresh_car(car.id);
  });
}

std::optional<CarSheet> Ledger::find_car(const std::string& name) const {
  return file_->guarded([&]() -> std::optional<CarSheet> {
    const auto select = file_->prepared("SELECT body FROM car WHERE name = ?");
    select->bind(1, name);
    if (!select->executeStep()) return std::nullopt;
    return parse_car_json(select->getColumn(0).getString());
  });
}

CarSheet Ledger::car(const std::string& name) const {
  return file_->guarded([&] { return *find_car(car_row(*file_, name).name); });
}

std::vector<CarSheet> Ledger::cars() const {
  return file_->guarded([&] {
    std::vector<CarSheet> out;
    const auto select = file_->prepared("SELECT body FROM car ORDER BY name");
    while (select->executeStep()) out.push_back(parse_car_json(select->getColumn(0).getString()));
    return out;
  });
}

std::vector<CarBrief> Ledger::car_briefs() const {
  return file_->guarded([&] {
    std::vector<CarBrief> out;
    const auto select = file_->prepared("SELECT name, state FROM car ORDER BY name");
    while (select->executeStep()) {
      const auto state = select->getColumn(1).getString();
      out.push_back({select->getColumn(0).getString(), state == "sold"      ? CarState::sold
                                                       : state == "retired" ? CarState::retired
                                                                            : CarState::active});
    }
    return out;
  });
}

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

std::vector<Record> Ledger::deciding_records_of(const std::string& car) const {
  return file_->guarded([&] {
    const auto row = car_row(*file_, car);
    const auto select = file_->prepared("SELECT body FROM brief WHERE car = ?");
    select->bind(1, row.id);
    return select->executeStep() ? read_brief(select->getColumn(0).getString(), row.name)
                                 : std::vector<Record>{};
  });
}

void Ledger::for_each_active_car(
    const std::function<void(const CarSheet&, std::span<const Record>)>& work) const {
  file_->reading([&] {
    const auto select = file_->prepared(
        "SELECT c.name, c.body, b.body FROM car c LEFT JOIN brief b ON b.car = c.id "
        "WHERE c.state = 'active' ORDER BY c.name");
    while (select->executeStep()) {
      const auto body = select->getColumn(2);
      work(parse_car_json(select->getColumn(1).getString()),
           read_brief({body.getText(), static_cast<std::size_t>(body.getBytes())},
                      select->getColumn(0).getString()));
    }
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

std::int64_t Ledger::add_plan(const std::string& car, Day day, const std::string& body_json,
                              const EntryStamp& stamp) {
  return file_->writing([&] {
    const auto row = car_row(*file_, car);
    const auto id = file_->open_entry("plan", stamp);
    {
      const auto insert =
          file_->prepared("INSERT INTO plan(id, car, day, body) VALUES (?, ?, ?, ?)");
      insert->bind(1, id);
      insert->bind(2, row.id);
      insert->bind(3, format_day(day));
      insert->bind(4, body_json);
      insert->exec();
    }
    file_->seal(id);
    return id;
  });
}

void Ledger::end_plan(std::int64_t id, const std::string& reason, const EntryStamp& stamp) {
  file_->writing([&] {
    {
      const auto select = file_->prepared(
          "SELECT p.id, (SELECT 1 FROM plan_end x WHERE x.plan = p.id) FROM plan p WHERE p.id = ?");
      select->bind(1, id);
      if (!select->executeStep())
        throw Error(ErrorKind::usage, fmt::format("there is no plan #{} in {}", id, file_->path));
      if (!select->getColumn(1).isNull())
        throw Error(ErrorKind::usage, fmt::format("plan #{} is closed already", id));
    }
    const auto entry = file_->open_entry("plan_end", stamp);
    {
      const auto insert =
          file_->prepared("INSERT INTO plan_end(id, plan, reason) VALUES (?, ?, ?)");
      insert->bind(1, entry);
      insert->bind(2, id);
      insert->bind(3, reason);
      insert->exec();
    }
    file_->seal(entry);
  });
}

std::vector<KeptPlan> Ledger::plans_of(const std::string& car) const {
  return file_->guarded([&] {
    const auto row = car_row(*file_, car);
    std::vector<KeptPlan> out;
    const auto select = file_->prepared(
        "SELECT p.id, p.day, p.body, (SELECT x.reason FROM plan_end x WHERE x.plan = p.id "
        "ORDER BY x.id LIMIT 1) FROM plan p WHERE p.car = ? ORDER BY p.id");
    select->bind(1, row.id);
    while (select->executeStep())
      out.push_back({.id = select->getColumn(0).getInt64(),
                     .car = row.name,
                     .day = stored_day(select->getColumn(1).getString()),
                     .body_json = select->getColumn(2).getString(),
                     .open = select->getColumn(3).isNull(),
                     .end_reason = select->getColumn(3).getString()});
    return out;
  });
}

std::pair<std::int64_t, std::string> Ledger::last_entry() const {
  return file_->guarded([&] {
    const auto select = file_->prepared("SELECT id, at FROM entry ORDER BY id DESC LIMIT 1");
    if (!select->executeStep()) return std::pair<std::int64_t, std::string>{};
    return std::pair{select->getColumn(0).getInt64(), select->getColumn(1).getString()};
  });
}

std::string Ledger::last_digest() const {
  return file_->guarded([&] { return file_->last_digest(); });
}

}  // namespace stopledger
