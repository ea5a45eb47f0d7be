#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "base/day.h"
#include "record/record.h"
#include "verify/outcome.h"

namespace stopledger {

class LedgerFile;

/// When and by whom something is entered; the clock belongs to the caller.
struct EntryStamp {
  std::string at_utc;  ///< RFC 3339
  std::string who;     ///< who enters it; may be empty
};

enum class FileRole { log, photograph, document };

/// A file kept with a record, as its bytes.
struct KeptFile {
  std::string name;  ///< file name without folders
  std::string bytes;
  FileRole role = FileRole::log;
  std::string sha256;  ///< hex; filled by the ledger
};

/// A check to be kept: leaves an `exercise` record with the logs and the outcome.
struct CheckToSave {
  std::string car;
  Day day{};              ///< when it was driven
  std::string procedure;  ///< id, "" when none was named
  std::vector<KeptFile> logs;
  CheckOutcome outcome;      ///< gives the record its fields (result, fl, fr, rl, rr, pump)
  std::string outcome_json;  ///< the document of `check --json`
  std::string engine;        ///< version that judged
  std::string who;           ///< driver or tester
  std::string note;
  std::map<std::string, FieldValue> more_fields;  ///< of kind `exercise`: stops, surface, ...
  std::optional<double> odometer_km;
  std::string odometer_written;
};

/// An outcome kept with a record.
struct KeptCheck {
  std::int64_t record = 0;
  std::string engine;
  std::string outcome_json;
  std::string entered_at;
};

/// A session plan kept in the ledger.
struct KeptPlan {
  std::int64_t id = 0;
  std::string car;
  Day day{};
  std::string body_json;
  bool open = true;
  std::string end_reason;
};

/// The newest current record of one car, kind, subject and result (see record/kinds.h for which
/// fields are subject and result). Kept in the same transaction as every change.
struct Newest {
  std::string car;
  std::string kind, subject, result;
  Day day{};
  std::int64_t record = 0;
  std::optional<double> odometer_km;
};

/// A car in short, for lists over many cars.
struct CarBrief {
  std::string name;
  CarState state = CarState::active;
};

/// A car with what decides what is due, as Ledger::for_each_active_car hands it out.
struct ActiveCar {
  std::size_t worker = 0;   ///< number of the thread, from 0
  std::uint32_t place = 0;  ///< in the order of names, from 0
  const CarSheet& sheet;
  std::span<const Record> deciding;
};

/// The ledger: one SQLite file. Every write is one transaction: done when the call returns, or
/// not at all. Several calls become one transaction between `begin` and `commit`.
///
/// Errors: Error(ledger) for a file that is no ledger, is of a newer schema, is busy or cannot be
/// written; Error(usage) for names and numbers it does not know, with near ones.
class Ledger {
 public:
  enum class Mode {
    read,   ///< must exist; nothing is changed (an older schema is brought up to date first)
    write,  ///< must exist
    create  ///< as write, but made when missing; its folder must exist
  };
  /// `wait_ms`: how long to wait for another program that writes.
  Ledger(const std::string& path, Mode mode, int wait_ms = 10000);
  ~Ledger();
  Ledger(Ledger&&) noexcept;
  Ledger& operator=(Ledger&&) noexcept;

  [[nodiscard]] const std::string& path() const;
  /// Told about things worth saying on standard error (a backup made before a migration).
  [[nodiscard]] const std::vector<std::string>& notices() const;

  /// The file or its medium is write-protected.
  [[nodiscard]] bool read_only() const;

  void begin();
  void commit();
  void rollback();

  // Cars. Names are unique without regard to case.
  void add_car(const CarSheet& sheet, const EntryStamp& stamp);
  /// Replaces the sheet of the car now called `name`; the old one stays in the trail.
  void edit_car(const std::string& name, const CarSheet& sheet, const std::string& reason,
                const EntryStamp& stamp);
  [[nodiscard]] std::optional<CarSheet> find_car(const std::string& name) const;
  /// As find_car, but an unknown name is an Error(usage) with near names.
  [[nodiscard]] CarSheet car(const std::string& name) const;
  [[nodiscard]] std::vector<CarSheet> cars() const;  ///< by name, all states
  [[nodiscard]] std::vector<CarBrief> car_briefs() const;

  // Records.
  /// Adds a fact; `id`, `uid`, `entered_at`, `supersedes`, `removed` of the argument are ignored.
  /// Fields are not validated again (record/kinds.h does that where they are written).
  Record add_record(const Record& record, const EntryStamp& stamp);
  /// Supersedes record `id`. A superseded or removed record is refused, naming the one that stands.
  Record correct(std::int64_t id, const Record& record, const EntryStamp& stamp);
  void remove(std::int64_t id, const std::string& reason, const EntryStamp& stamp);
  /// Error(usage) when there is none.
  [[nodiscard]] Record record(std::int64_t id) const;
  [[nodiscard]] std::optional<Record> record_by_uid(const std::string& uid) const;
  /// By day, then by order of entry. Without history: only those that stand.
  [[nodiscard]] std::vector<Record> records_of(const std::string& car,
                                               bool include_history = false) const;
  [[nodiscard]] std::vector<Newest> newest_of(const std::string& car) const;
  /// All cars, ordered by car name as `car_briefs`; faster than asking car by car.
  [[nodiscard]] std::vector<Newest> newest_of_all() const;
  /// The standing records that decide what is due (newest of each kind, faults, repairs, storage,
  /// thinned odometer readings), without people and notes: one row to read, kept in the same
  /// transaction as every change. For a day `on` before the newest of them: all records of the car.
  [[nodiscard]] std::vector<Record> deciding_records_of(const std::string& car,
                                                        std::optional<Day> on = {}) const;
  /// The same for all active cars, read in one pass in the order of their names. `workers` threads
  /// call `work` at the same time; it sees one car at a time.
  void for_each_active_car(std::optional<Day> on, std::size_t workers,
                           const std::function<void(const ActiveCar&)>& work) const;
  /// Standing faults that no standing repair or part names.
  [[nodiscard]] std::vector<Record> open_faults(const std::string& car) const;

  // Checks, files, plans.
  Record save_check(const CheckToSave& check, const EntryStamp& stamp);
  /// Another judgement of a kept check (by a newer engine); the old one stays.
  void add_outcome(std::int64_t record, const std::string& outcome_json, const std::string& engine,
                   const EntryStamp& stamp);
  [[nodiscard]] std::vector<KeptCheck> checks_of(std::int64_t record) const;  ///< oldest first
  void attach(std::int64_t record, const KeptFile& file, const EntryStamp& stamp);
  [[nodiscard]] std::vector<KeptFile> files_of(std::int64_t record) const;
  [[nodiscard]] std::vector<KeptFile> logs_of(std::int64_t record) const;
  std::int64_t add_plan(const std::string& car, Day day, const std::string& body_json,
                        const EntryStamp& stamp);
  void end_plan(std::int64_t id, const std::string& reason, const EntryStamp& stamp);
  [[nodiscard]] std::vector<KeptPlan> plans_of(const std::string& car) const;  ///< oldest first

  /// Number and time of the last entry; the number grows with every change. {0, ""} when empty.
  [[nodiscard]] std::pair<std::int64_t, std::string> last_entry() const;
  /// Digest of the last entry: everything before it is fixed by it. "" when empty.
  [[nodiscard]] std::string last_digest() const;

  /// For the other files of record/.
  [[nodiscard]] LedgerFile& file() const { return *file_; }

 private:
  std::unique_ptr<LedgerFile> file_;
};

}  // namespace stopledger
