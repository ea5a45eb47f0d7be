#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/day.h"
#include "record/record.h"

namespace stopledger {

/// The records of one car that stand on a day, by kind and in the order in which they happened.
/// Superseded, removed and later ones are left out. Refers to the records, does not copy them.
class History {
 public:
  History(std::span<const Record> records, Day on);

  /// Oldest first: by day, then as entered.
  [[nodiscard]] std::span<const Record* const> of(std::string_view kind) const;
  /// Nothing when there is none.
  [[nodiscard]] const Record* newest(std::string_view kind) const;
  [[nodiscard]] const std::vector<const Record*>& all() const { return records_; }
  [[nodiscard]] Day on() const { return on_; }
  /// The uid of the record that now stands in place of this one (corrections followed as far as
  /// the superseded records were given); the same uid when it stands itself.
  [[nodiscard]] std::string_view standing_uid(std::string_view uid) const;

 private:
  void group();

  struct Group {
    std::string_view kind;
    std::size_t begin, end;  ///< in records_
  };

  std::vector<const Record*> records_;  ///< by kind, then by time
  std::vector<Group> groups_;
  std::vector<std::pair<std::string_view, std::string_view>> replaced_;  ///< uid, by which uid
  Day on_;
};

/// True when `a` happened after `b`: a later day, or the same day and entered later.
bool after(const Record& a, const Record& b);

/// The field as written; "" when the record has none.
std::string_view field(const Record& record, std::string_view name);

/// True for a flag that says yes.
bool flag(const Record& record, std::string_view name);

/// A span of standing.
struct Storage {
  const Record* begin = nullptr;
  const Record* end = nullptr;  ///< nullptr while the car is still standing
  [[nodiscard]] int days(Day on) const { return days_between(begin->day, end ? end->day : on); }
};

/// Storage spans, oldest first; an end without a begin is left out.
std::vector<Storage> storages(const History& history);

}  // namespace stopledger
