#include "record/foreign_entries.h"

#include <fmt/format.h>

#include <functional>
#include <nlohmann/json.hpp>

#include "base/error.h"
#include "record/car_sheet.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

[[noreturn]] void refuse_entry(const std::string& why) { throw Error(ErrorKind::input, why); }

/// `key`'s text, "" when it is left out.
std::string entry_text(const json& entry, const char* key) {
  return entry.contains(key) ? entry[key].get<std::string>() : std::string();
}

}  // namespace

std::int64_t ForeignEntries::id_of(const json& entry, const char* key) {
  const std::string uid = entry.at(key);
  const auto select = file_.prepared("SELECT id FROM entry WHERE uid = ?");
  select->bind(1, uid);
  if (!select->executeStep())
    refuse_entry(fmt::format("speaks of a {} that is neither in the file nor here", key));
  return select->getColumn(0).getInt64();
}

void ForeignEntries::insert(std::int64_t id, const std::string& what, const json& entry) {
  const auto run = [&](const char* sql, const std::function<void(SQLite::Statement&)>& bind) {
    const auto statement = file_.prepared(sql);
    statement->bind(1, id);
    bind(*statement.operator->());
    statement->exec();
  };
  if (what == "car") {
    run("INSERT INTO car(id, name, state, body) VALUES (?, ?, 'active', '')",
        [&](SQLite::Statement& s) { s.bind(2, entry.at("uid").get<std::string>()); });
    cars.insert(id);
  } else if (what == "sheet") {
    const auto car = id_of(entry, "car");
    parse_car_json(entry.at("body"));
    run("INSERT INTO sheet(id, car, version, body, reason) VALUES (?, ?, ?, ?, ?)",
        [&](SQLite::Statement& s) {
          s.bind(2, car);
          s.bind(3, entry.at("version").get<std::int64_t>());
          s.bind(4, entry.at("body").get<std::string>());
          s.bind(5, entry_text(entry, "reason"));
        });
    cars.insert(car);
  } else if (what == "record") {
    insert_record(id, entry);
  } else if (what == "removal") {
    const auto record = id_of(entry, "record");
    run("INSERT INTO removal(id, record, reason) VALUES (?, ?, ?)", [&](SQLite::Statement& s) {
      s.bind(2, record);
      s.bind(3, entry.at("reason").get<std::string>());
    });
    touch(record);
  } else if (what == "check") {
    const auto record = id_of(entry, "record");
    run("INSERT INTO \"check\"(id, record, engine, outcome) VALUES (?, ?, ?, ?)",
        [&](SQLite::Statement& s) {
          s.bind(2, record);
          s.bind(3, entry_text(entry, "engine"));
          s.bind(4, entry.at("outcome").get<std::string>());
        });
  } else if (what == "file") {
    const auto record = id_of(entry, "record");
    run("INSERT INTO file(id, record, role, name, sha256) VALUES (?, ?, ?, ?, ?)",
        [&](SQLite::Statement& s) {
          s.bind(2, record);
          s.bind(3, entry.at("role").get<std::string>());
          s.bind(4, entry_text(entry, "name"));
          s.bind(5, entry.at("sha256").get<std::string>());
        });
  } else if (what == "plan") {
    const auto car = id_of(entry, "car");
    run("INSERT INTO plan(id, car, day, body) VALUES (?, ?, ?, ?)", [&](SQLite::Statement& s) {
      s.bind(2, car);
      s.bind(3, entry.at("day").get<std::string>());
      s.bind(4, entry.at("body").get<std::string>());
    });
  } else if (what == "plan_end") {
    const auto plan = id_of(entry, "plan");
    run("INSERT INTO plan_end(id, plan, reason) VALUES (?, ?, ?)", [&](SQLite::Statement& s) {
      s.bind(2, plan);
      s.bind(3, entry_text(entry, "reason"));
    });
  } else {
    refuse_entry(
        fmt::format("holds an entry of kind \"{}\", which this program does not know", what));
  }
}

void ForeignEntries::insert_record(std::int64_t id, const json& entry) {
  const auto car = id_of(entry, "car");
  const std::string kind = entry.at("kind"), day = entry.at("day");
  if (!parse_day(day)) refuse_entry(fmt::format("\"{}\" is no day", day));
  std::optional<std::int64_t> old;
  if (entry.contains("supersedes")) old = id_of(entry, "supersedes");
  {
    const auto insert = file_.prepared(
        "INSERT INTO record(id, car, kind, day, odometer_km, odometer, who, signed_by, note, "
        "supersedes) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    insert->bind(1, id);
    insert->bind(2, car);
    insert->bind(3, kind);
    insert->bind(4, day);
    if (entry.contains("odometer_km")) {
      insert->bind(5, entry["odometer_km"].get<double>());
      insert->bind(6, entry.at("odometer").get<std::string>());
    }
    insert->bind(7, entry_text(entry, "who"));
    insert->bind(8, entry_text(entry, "signed_by"));
    insert->bind(9, entry_text(entry, "note"));
    if (old) insert->bind(10, *old);
    insert->exec();
  }
  if (entry.contains("fields"))
    for (const auto& [name, field] : entry["fields"].items()) {
      const auto insert =
          file_.prepared("INSERT INTO field(record, name, written, value) VALUES (?, ?, ?, ?)");
      insert->bind(1, id);
      insert->bind(2, name);
      insert->bind(3, field.at("written").get<std::string>());
      if (field.contains("value")) insert->bind(4, field["value"].get<double>());
      insert->exec();
    }
  kinds.emplace(car, kind);
  cars.insert(car);
  if (old) touch(*old);
}

void ForeignEntries::touch(std::int64_t record) {
  const auto select = file_.prepared("SELECT car, kind FROM record WHERE id = ?");
  select->bind(1, record);
  if (select->executeStep())
    kinds.emplace(select->getColumn(0).getInt64(), select->getColumn(1).getString());
}

}  // namespace stopledger
