#include <fmt/format.h>
#include <sqlite3.h>

#include <istream>
#include <nlohmann/json.hpp>
#include <set>

#include "base/error.h"
#include "record/car_sheet.h"
#include "record/conflicts.h"
#include "record/digest.h"
#include "record/exchange.h"
#include "record/foreign_entries.h"
#include "record/ledger_file.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

/// Reads one exchange file into a ledger.
class Reader {
 public:
  Reader(LedgerFile& file, std::istream& in, std::string name)
      : entries(file), file_(file), in_(in), name_(std::move(name)) {}

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
  ForeignEntries entries;

 private:
  [[noreturn]] void refuse(const std::string& why) const {
    throw Error(ErrorKind::input, {name_, number_}, why);
  }

  void take(const json& value) {
    if (number_ == 1) {
      if (!value.contains("format"))
        refuse("is not an exchange file of a ledger (stopledger ledger export makes one)");
      if (value["format"] != exchange_format)
        refuse(fmt::format("is of format {}, this program reads {}; use a newer stopledger",
                           value["format"].dump(), exchange_format));
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
      if (what == "car") entries.cars.insert(known);
      ++report.known;
      return;
    }
    const auto id = file_.open_entry(what.c_str(), {entry.at("at"), entry.at("by")}, uid);
    entries.insert(id, what, entry);
    file_.seal(id);
    if (file_.entry_json(id) != text) refuse("holds something this program does not know");
    ++report.added;
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

ImportReport import_entries(Ledger& ledger, std::istream& in, const std::string& file_name,
                            const std::string& rename, const EntryStamp& stamp) {
  auto& file = ledger.file();
  return file.writing([&] {
    std::set<std::string> known_conflicts;
    for (const auto& conflict : all_conflicts(file)) known_conflicts.insert(conflict.key);
    Reader reader(file, in, file_name);
    reader.read();
    if (!rename.empty() && reader.entries.cars.size() != 1)
      throw Error(ErrorKind::usage,
                  fmt::format("{} holds {} cars; only a single one can be renamed", file_name,
                              reader.entries.cars.size()));
    for (const auto car : reader.entries.cars) {
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
    for (const auto& [car, kind] : reader.entries.kinds) file.refresh_newest(car, kind);
    for (auto& conflict : all_conflicts(file))
      if (!known_conflicts.contains(conflict.key))
        reader.report.conflicts.push_back(std::move(conflict.text));
    return std::move(reader.report);
  });
}

}  // namespace stopledger
