#include "record/ledger.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>

#include "base/error.h"
#include "record/car_row.h"
#include "record/car_sheet.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

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
