#pragma once

#include <functional>
#include <optional>
#include <span>

#include "schedule/due.h"
#include "schedule/history.h"
#include "schedule/rule.h"
#include "schedule/use.h"

namespace stopledger {

/// One way in which a rule can fall due. The words are only made when somebody reads them.
struct Arm {
  DueState state = DueState::later;
  std::optional<Day> opens, due, overdue_after, low, high;
  const Record* cause = nullptr;
  std::function<std::string()> reason;
};

/// What the rules say of one procedure.
struct Judgement {
  std::optional<Interval> merged;  ///< of the manual; `rule` may point here
  const Interval* rule = nullptr;
  Doings doings;
  std::optional<Arm> arm;  ///< the most urgent; nothing when it does not apply or has no cause
};

/// What the rules look at, put together once for a car and a day, with what was found out already.
/// Private to src/schedule. The procedures asked about are elements of `procedures`.
class Situation {
 public:
  Situation(const CarSheet& sheet, std::span<const Record> records,
            std::span<const Procedure> library, Day day)
      : car(sheet),
        history(records, day),
        procedures(library),
        on(day),
        judgements_(library.size()) {}

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
  const Judgement& judgement(const Procedure& procedure) const;
  /// What blocks every session of this car.
  const std::vector<Block>& session_blocks() const;

 private:
  mutable std::vector<std::optional<Judgement>> judgements_;  ///< never grows: referred to
  mutable std::optional<Use> use_;
  mutable std::optional<std::vector<Storage>> storage_;
  mutable std::optional<std::vector<Block>> session_blocks_;
};

/// Every way in which a rule can fall due for this car. The arms refer to the arguments.
std::vector<Arm> arms_of(const Situation& now, const Procedure& procedure, const Interval& rule,
                         const Doings& doings);

/// The item of one procedure, without blocks. Nothing when it doesn't apply or has no cause.
std::optional<DueItem> due_item(const Situation& now, const Procedure& procedure);

/// A block with the record that it rests on, or nullptr.
Block block_by(std::string id, const Record* record, std::string reason, std::string clears);

/// `standing_only`: only hard ones that do not belong to the day itself.
std::vector<Block> blocks(const Situation& now, const Procedure& procedure, bool standing_only);

}  // namespace stopledger
