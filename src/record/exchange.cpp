#include "record/exchange.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include <functional>
#include <istream>
#include <nlohmann/json.hpp>
#include <ostream>
#include <set>

#include "base/error.h"
#include "record/car_sheet.h"
#include "record/conflicts.h"
#include "record/digest.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

using json = nlohmann::json;
constexpr const char* format_name = "stopledger.ledger/1";

/// Writes the lines of one exchange file: header, entries with the contents they need, end.
class Writer {
 public:
  Writer(LedgerFile& file, std::ostream& out, const std::string& scope) : file_(file), out_(out) {
    out_ << json{{"format", format_name}, {"scope", scope}}.dump() << "\n";
  }

  void entry(std::int64_t id) {
    {
      const auto content = file_.prepared(
          "SELECT c.sha256, c.size, c.packed FROM file f JOIN content c ON c.sha256 = f.sha256 "
          "WHERE f.id = ?");
      content->bind(1, id);
      if (content->executeStep() && written_.insert(content->getColumn(0).getString()).second) {
        const auto packed = content->getColumn(2);
        out_ << json{{"content",
                      {{"sha256", content->getColumn(0).getString()},
                       {"size", content->getColumn(1).getInt64()},
                       {"zstd", encode_base64({static_cast<const char*>(packed.getBlob()),
                                               static_cast<std::size_t>(packed.getBytes())})}}}}
                    .dump()
             << "\n";
      }
    }
    const auto text = file_.entry_json(id);
    digest_ = sha256_hex(digest_ + text);
    ++count_;
    // Put together by hand so that the digested text stands in the line exactly as it is.
    out_ << R"({"digest":")" << digest_ << R"(","entry":)" << text << "}\n";
  }

  void procedure(const CarriedProcedure& procedure) {
    out_ << json{{"procedure", {{"id", procedure.id}, {"text", procedure.text}}}}.dump() << "\n";
  }

  void end() {
    out_ << json{{"end", {{"entries", count_}, {"digest", digest_}}}}.dump() << "\n";
    out_.flush();
    if (!out_) throw Error(ErrorKind::file, "the exchange file could not be written (disk full?)");
  }

 private:
  LedgerFile& file_;
  std::ostream& out_;
  std::set<std::string> written_;
  std::string digest_;
  std::size_t count_ = 0;
};

std::vector<std::int64_t> ids(const Prepared& select) {
  std::vector<std::int64_t> out;
  while (select->executeStep()) out.push_back(select->getColumn(0).getInt64());
  return out;
}

/// Reads one exchange file into a ledger.
class Reader {
 public:
  Reader(LedgerFile& file, std::istream& in, std::string name)
      : file_(file), in_(in), name_(std::move(name)) {}

  void read() {
    std::string line;
    for (number_ = 1; std::getline(in_, line); ++number_) {
      if (ended_) refuse("there is text after the end line");
      json value;
      try {
        value = json::parse(line);
        take(value);
      } catch (const json::exception& error) {
        refuse(fmt::format("is not a line of an exchange file ({})", error.what()));
      } catch (const SQLite::Exception& error) {
        if (error.getErrorCode() != SQLITE_CONSTRAINT) throw;
        refuse(fmt::format("does not fit what it refers to ({})", error.what()));
      } catch (const Error& error) {
        if (error.place().file == name_) throw;
        refuse(error.what());
      }
    }
    if (!ended_) refuse("is cut short: the end line is missing. Have it sent again");
  }

  ImportReport report;
  std::set<std::int64_t> cars;                           ///< spoken of
  std::set<std::pair<std::int64_t, std::string>> kinds;  ///< whose newest must be computed

 private:
  [[noreturn]] void refuse(const std::string& why) const {
    throw Error(ErrorKind::input, {name_, number_}, why);
  }

  void take(const json& value) {
    if (number_ == 1) {
      if (!value.contains("format"))
        refuse("is not an exchange file of a ledger (stopledger ledger export makes one)");
      if (value["format"] != format_name)
        refuse(fmt::format("is of format {}, this program reads {}; use a newer stopledger",
                           value["format"].dump(), format_name));
    } else if (value.contains("entry")) {
      take_entry(value.at("digest"), value.at("entry"));
    } else if (value.contains("content")) {
      take_content(value["content"]);
    } else if (value.contains("procedure")) {
      report.procedures.push_back({value["procedure"].at("id"), value["procedure"].at("text")});
    } else if (value.contains("end")) {
      if (value["end"].at("entries") != count_ || value["end"].at("digest") != digest_)
        refuse("the end line does not fit what stands before it: lines are missing");
      ended_ = true;
    } else {
      refuse("is a line of no known kind");
    }
  }

  void take_content(const json& content) {
    const std::string sha256 = content.at("sha256");
    const std::int64_t size = content.at("size");
    const auto packed = decode_base64(content.at("zstd").get<std::string>());
    if (size < 0 || sha256_hex(unpack(packed, static_cast<std::size_t>(size))) != sha256)
      refuse("a file in it is damaged: its digest differs");
    const auto insert =
        file_.prepared("INSERT OR IGNORE INTO content(sha256, size, packed) VALUES (?, ?, ?)");
    insert->bind(1, sha256);
    insert->bind(2, size);
    insert->bindNoCopy(3, packed.data(), static_cast<int>(packed.size()));
    insert->exec();
  }

  std::int64_t id_of(const json& entry, const char* key) {
    const std::string uid = entry.at(key);
    const auto select = file_.prepared("SELECT id FROM entry WHERE uid = ?");
    select->bind(1, uid);
    if (!select->executeStep())
      refuse(fmt::format("speaks of a {} that is neither in the file nor here", key));
    return select->getColumn(0).getInt64();
  }

  void take_entry(const std::string& digest, const json& entry) {
    const auto text = entry.dump();
    digest_ = sha256_hex(digest_ + text);
    ++count_;
    if (digest_ != digest) refuse("was altered: the digest does not fit what it says");
    const std::string uid = entry.at("uid"), what = entry.at("what");
    std::int64_t known = 0;
    {
      const auto select = file_.prepared("SELECT id FROM entry WHERE uid = ?");
      select->bind(1, uid);
      if (select->executeStep()) known = select->getColumn(0).getInt64();
    }
    if (known != 0) {
      if (file_.entry_json(known) != text)
        refuse(fmt::format("says something else than entry {} here: one of the two was altered",
                           known));
      if (what == "car") cars.insert(known);
      ++report.known;
      return;
    }
    const auto id = file_.open_entry(what.c_str(), {entry.at("at"), entry.at("by")}, uid);
    insert(id, what, entry);
    file_.seal(id);
    if (file_.entry_json(id) != text) refuse("holds something this program does not know");
    ++report.added;
  }

  /// `key`'s text, "" when it is left out.
  static std::string text_of(const json& entry, const char* key) {
    return entry.contains(key) ? entry[key].get<std::string>() : std::string();
  }

  void insert(std::int64_t id, const std::string& what, const json& entry) {
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
            s.bind(5, text_of(entry, "reason"));
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
            s.bind(3, text_of(entry, "engine"));
            s.bind(4, entry.at("outcome").get<std::string>());
          });
    } else if (what == "file") {
      const auto record = id_of(entry, "record");
      run("INSERT INTO file(id, record, role, name, sha256) VALUES (?, ?, ?, ?, ?)",
          [&](SQLite::Statement& s) {
            s.bind(2, record);
            s.bind(3, entry.at("role").get<std::string>());
            s.bind(4, text_of(entry, "name"));
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
        s.bind(3, text_of(entry, "reason"));
      });
    } else {
      refuse(fmt::format("holds an entry of kind \"{}\", which this program does not know", what));
    }
  }

  void insert_record(std::int64_t id, const json& entry) {
    const auto car = id_of(entry, "car");
    const std::string kind = entry.at("kind"), day = entry.at("day");
    if (!parse_day(day)) refuse(fmt::format("\"{}\" is no day", day));
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
      insert->bind(7, text_of(entry, "who"));
      insert->bind(8, text_of(entry, "signed_by"));
      insert->bind(9, text_of(entry, "note"));
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

  void touch(std::int64_t record) {
    const auto select = file_.prepared("SELECT car, kind FROM record WHERE id = ?");
    select->bind(1, record);
    if (select->executeStep())
      kinds.emplace(select->getColumn(0).getInt64(), select->getColumn(1).getString());
  }

  LedgerFile& file_;
  std::istream& in_;
  std::string name_;
  std::size_t number_ = 0;
  std::size_t count_ = 0;
  std::string digest_;
  bool ended_ = false;
};

}  // namespace

void export_ledger(const Ledger& ledger, std::ostream& out) {
  auto& file = ledger.file();
  file.reading([&] {
    Writer writer(file, out, "ledger");
    for (const auto id : ids(file.prepared("SELECT id FROM entry ORDER BY id"))) writer.entry(id);
    writer.end();
  });
}

void export_car(const Ledger& ledger, const std::string& car,
                const std::vector<CarriedProcedure>& procedures, std::ostream& out) {
  auto& file = ledger.file();
  file.reading([&] {
    const auto name = ledger.car(car).facts.name;
    Writer writer(file, out, "car");
    const auto select = file.prepared(
        "WITH mine(car) AS (SELECT id FROM car WHERE name = ?), "
        "records(id) AS (SELECT r.id FROM record r JOIN mine USING (car)) "
        "SELECT car FROM mine "
        "UNION ALL SELECT s.id FROM sheet s JOIN mine USING (car) "
        "UNION ALL SELECT id FROM records "
        "UNION ALL SELECT x.id FROM removal x JOIN records r ON r.id = x.record "
        "UNION ALL SELECT x.id FROM \"check\" x JOIN records r ON r.id = x.record "
        "UNION ALL SELECT f.id FROM file f JOIN records r ON r.id = f.record "
        "UNION ALL SELECT p.id FROM plan p JOIN mine USING (car) "
        "UNION ALL SELECT x.id FROM plan_end x JOIN plan p ON p.id = x.plan JOIN mine USING (car) "
        "ORDER BY 1");
    select->bind(1, name);
    for (const auto id : ids(select)) writer.entry(id);
    for (const auto& procedure : procedures) writer.procedure(procedure);
    writer.end();
  });
}

ImportReport import_entries(Ledger& ledger, std::istream& in, const std::string& file_name,
                            const std::string& rename, const EntryStamp& stamp) {
  auto& file = ledger.file();
  return file.writing([&] {
    std::set<std::string> known_conflicts;
    for (const auto& conflict : all_conflicts(file)) known_conflicts.insert(conflict.key);
    Reader reader(file, in, file_name);
    reader.read();
    if (!rename.empty() && reader.cars.size() != 1)
      throw Error(ErrorKind::usage,
                  fmt::format("{} holds {} cars; only a single one can be renamed", file_name,
                              reader.cars.size()));
    for (const auto car : reader.cars) {
      auto sheet = parse_car_json(file.standing_body(car));
      if (!rename.empty() && sheet.facts.name != rename) {
        sheet.facts.name = rename;
        file.add_sheet(car, sheet, "renamed at import", stamp);
      }
      const auto taken = file.prepared("SELECT 1 FROM car WHERE name = ? AND id <> ?");
      taken->bind(1, sheet.facts.name);
      taken->bind(2, car);
      if (taken->executeStep())
        throw Error(ErrorKind::usage,
                    fmt::format("there is another car \"{}\" here; import it with --as NEW-NAME, "
                                "or rename the one here",
                                sheet.facts.name));
      file.refresh_car(car);
      reader.report.cars.push_back(sheet.facts.name);
    }
    for (const auto& [car, kind] : reader.kinds) file.refresh_newest(car, kind);
    for (auto& conflict : all_conflicts(file))
      if (!known_conflicts.contains(conflict.key))
        reader.report.conflicts.push_back(std::move(conflict.text));
    return std::move(reader.report);
  });
}

}  // namespace stopledger
