#pragma once

#include <memory>
#include <optional>
#include <span>

#include "schedule/due.h"
#include "schedule/history.h"
#include "schedule/rule.h"
#include "schedule/use.h"

namespace stopledger {

/// What the rules look at, put together once for a car and a day. Private to src/schedule.
class Situation {
 public:
  Situation(const CarSheet& sheet, std::span<const Record> records,
            std::span<const Procedure> library, Day day)
      : car(sheet), history(records, day), procedures(library), on(day) {}

  const CarSheet& car;
  const History history;
  const std::span<const Procedure> procedures;
  const Day on;

  /// Reckoned when a distance rule first asks for it.
  const Use& use() const {
    if (!use_) use_ = use_of(history);
    return *use_;
  }
  const std::vector<Storage>& storage() const {
    if (!storage_) storage_ = storages(history);
    return *storage_;
  }
  /// The storage that has not ended yet.
  const Storage* standing() const {
    return !storage().empty() && storage().back().end == nullptr ? &storage().back() : nullptr;
  }

 private:
  mutable std::optional<Use> use_;
  mutable std::optional<std::vector<Storage>> storage_;
};

/// The item of one procedure, without blocks. Nothing when it doesn't apply or has no cause.
std::optional<DueItem> due_item(const Situation& now, const Procedure& procedure);

std::vector<Block> blocks(const Situation& now, const Procedure& procedure);

}  // namespace stopledger
