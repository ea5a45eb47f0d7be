#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "record/ledger.h"

namespace stopledger {

/// A prepared statement in use: reset when it goes out of scope, so that no lock stays behind.
class Prepared {
 public:
  explicit Prepared(SQLite::Statement& statement) : statement_(statement) {}
  ~Prepared() { statement_.tryReset(); }
  Prepared(const Prepared&) = delete;
  Prepared& operator=(const Prepared&) = delete;
  SQLite::Statement* operator->() const { return &statement_; }

 private:
  SQLite::Statement& statement_;
};

/// The open SQLite file behind a Ledger: opening and migration, prepared statements, one
/// transaction at a time, the chain of entries. Used inside record/ only.
class LedgerFile {
 public:
  LedgerFile(const std::string& path, Ledger::Mode mode, int wait_ms);

  /// Runs `work`, turning every SQLite::Exception into an Error(ledger).
  template <typename Work>
  auto guarded(Work work) {
    try {
      return work();
    } catch (const SQLite::Exception& exception) {
      fail(exception);
    }
  }

  /// As `guarded`, with one state of the ledger seen from begin to end.
  template <typename Work>
  auto reading(Work work) {
    return guarded([&] {
      if (in_transaction_) return work();
      const Reading transaction(*this);
      return work();
    });
  }

  /// As `guarded`, inside a write transaction: the open one, or one of its own.
  template <typename Work>
  auto writing(Work work) {
    return guarded([&] {
      Writing transaction(*this);
      if constexpr (std::is_void_v<decltype(work())>) {
        work();
        transaction.commit();
      } else {
        auto result = work();
        transaction.commit();
        return result;
      }
    });
  }

  /// A statement ready to be bound; kept prepared by the address of its text, so only for
  /// literals.
  Prepared prepared(const char* sql);
  SQLite::Database& database() { return database_; }

  void begin();
  void commit();
  void rollback() noexcept;

  /// Copies the last committed state into a new file through a connection of its own.
  void copy_to(const std::string& target) const;

  /// Opens an entry of the chain; its content follows in the table `what`, then `seal`.
  /// `uid` empty: a new random one.
  std::int64_t open_entry(const char* what, const EntryStamp& stamp, const std::string& uid = {});
  /// Fixes the entry's content by its digest: SHA-256 over the digest before and the content.
  /// Returns the digest.
  std::string seal(std::int64_t id);
  /// The entry's content as canonical JSON (src/record/SCHEMA.md), read from the tables.
  std::string entry_json(std::int64_t id);
  std::string last_digest();

  /// The sheet that stands, as JSON.
  std::string standing_body(std::int64_t car);
  /// Adds the next version of a car's sheet; `refresh_car` then sets the car's row from it.
  void add_sheet(std::int64_t car, const CarSheet& sheet, const std::string& reason,
                 const EntryStamp& stamp);
  void refresh_car(std::int64_t car);
  /// Computes the rows of `newest` of one car and kind from the records.
  void refresh_newest(std::int64_t car, const std::string& kind);
  /// Computes the car's row of `brief`; done by itself at commit for the cars that were touched.
  void refresh_brief(std::int64_t car);
  /// The row of `newest` after `record` was added and supersedes nothing.
  void note_newest(std::int64_t record);

  const std::string path;
  std::vector<std::string> notices;

 private:
  class Writing {
   public:
    explicit Writing(LedgerFile& file) : file_(file), outermost_(!file.in_transaction_) {
      if (outermost_) file_.begin();
    }
    ~Writing() {
      if (outermost_ && !done_) file_.rollback();
    }
    Writing(const Writing&) = delete;
    Writing& operator=(const Writing&) = delete;
    void commit() {
      if (outermost_) file_.commit();
      done_ = true;
    }

   private:
    LedgerFile& file_;
    bool outermost_;
    bool done_ = false;
  };

  class Reading {
   public:
    explicit Reading(LedgerFile& file) : file_(file) {
      file_.database_.exec("BEGIN");
      file_.in_transaction_ = true;
    }
    ~Reading() { file_.rollback(); }
    Reading(const Reading&) = delete;
    Reading& operator=(const Reading&) = delete;

   private:
    LedgerFile& file_;
  };

  [[noreturn]] void fail(const SQLite::Exception& exception) const;
  void prepare_schema(Ledger::Mode mode);
  std::string backup_before(int version);

  int wait_ms_;
  bool in_transaction_ = false;
  std::set<std::int64_t> touched_;  ///< cars whose brief is written at commit
  SQLite::Database database_;
  std::unordered_map<const char*, SQLite::Statement> statements_;
};

}  // namespace stopledger
