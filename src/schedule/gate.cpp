#include "schedule/gate.h"

#include <fmt/format.h>

#include <algorithm>

#include "schedule/item.h"

namespace stopledger {
namespace {

constexpr int long_standing_days =
    730;  // common practice: after two years the unit counts as unknown

class Gates {
 public:
  Gates(const Situation& now, const Procedure& procedure, bool standing_only)
      : now_(now), procedure_(procedure), standing_only_(standing_only) {}

  std::vector<Block> all() {
    unit();
    sheet();
    if (procedure_.rests_in_storage) storage();
    if (procedure_.is_session) {
      const auto& common = now_.session_blocks();
      found_.insert(found_.end(), common.begin(), common.end());
    }
    for (const auto& before : procedure_.prerequisites)
      if (!standing_only_ || (before.hard && before.within_days != 0)) prerequisite(before);
    if (standing_only_) std::erase_if(found_, [](const Block& b) { return !b.hard || b.same_day; });
    std::stable_sort(found_.begin(), found_.end(), [](const Block& a, const Block& b) {
      return std::pair(!a.hard, a.same_day) < std::pair(!b.hard, b.same_day);
    });
    return std::move(found_);
  }

 private:
  Block& add(std::string id, const Record* record, std::string reason, std::string clears) {
    found_.push_back(block_by(std::move(id), record, std::move(reason), std::move(clears)));
    return found_.back();
  }

  [[nodiscard]] bool has_store() const {
    return now_.car.facts.unit_kind == UnitKind::high_pressure_store ||
           now_.car.facts.unit_kind == UnitKind::booster_store;
  }

  void unit() {
    if (!procedure_.opens_system) return;
    if (now_.car.facts.unit_kind == UnitKind::unknown)
      add("unit-kind", nullptr,
          "the kind of the unit is unknown, and a high-pressure store must be emptied before "
          "anything is opened (C3)",
          "enter the unit kind in the car's sheet, from its manual")
          .procedure = "unit-sheet";
    if (!has_store()) return;
    if (!now_.car.sheet.contains("depress-count"))
      add("store", nullptr,
          "the car has a high-pressure store and its sheet does not hold the manual's count for "
          "emptying it (C3)",
          "enter depress-count in the car's sheet, from its manual")
          .procedure = "unit-sheet";
    const Record* emptied = now_.history.newest("depressurise");
    if (emptied == nullptr || emptied->day != now_.on) {
      auto& block = add("store", nullptr,
                        "the high-pressure store must be emptied on the day, before anything is "
                        "opened, with the key off from then on (C3)",
                        "do and record the depressurising as the manual says");
      block.procedure = "depressurise";
      block.same_day = true;
    }
  }

  void sheet() {
    for (const auto& key : procedure_.needs_sheet) {
      const auto found = now_.car.sheet.find(key);
      if (found != now_.car.sheet.end() && found->second.written != "unknown") continue;
      add("sheet", nullptr, fmt::format("the car's sheet does not say {}", key),
          fmt::format("enter {} in the car's sheet, from its manual", key))
          .procedure = "unit-sheet";
    }
  }

  void storage() {
    if (const auto* stood = now_.standing())
      add("storage", stood->begin,
          fmt::format("the car is stored since {}", format_day(stood->begin->day)),
          "bring it back step by step and record storage-end")
          .procedure = "return-to-use";
  }

  /// True when nothing of this procedure was ever done since the car or its unit became unknown.
  bool first_ever(const Procedure& proof) {
    const Record* tested = now_.judgement(proof).doings.done;
    const Record* done = nullptr;
    for (const Record* r : now_.history.of(procedure_.record_kind))
      if (field(*r, "result") == "exercised") done = r;
    const auto settled = [&](const Record& since) {
      return (tested != nullptr && after(*tested, since)) || (done && after(*done, since));
    };
    for (const auto& stood : now_.storage())
      if (stood.end != nullptr && stood.days(now_.on) > long_standing_days && !settled(*stood.end))
        return true;
    for (const auto kind : {"repair", "part"})
      for (const Record* r : now_.history.of(kind))
        if (flag(*r, "unit") && !settled(*r)) return true;
    return done == nullptr && tested == nullptr;
  }

  void prerequisite(const Prerequisite& before) {
    const Procedure* other = look_up_in(before.procedure);
    if (other == nullptr || !applies_to(now_.car, *other)) return;
    if (before.first_ever_only) {
      if (first_ever(*other)) missing(before, *other, nullptr, "is needed first");
      return;
    }
    const auto& [merged, rule, doings, arm] = now_.judgement(*other);
    if (before.within_days) {
      const Record* done = doings.done;
      if (done != nullptr && days_between(done->day, now_.on) <= *before.within_days &&
          doings.open_failure() == nullptr) {
        if (arm && arm->state != DueState::later && arm->cause != nullptr)
          missing(before, *other, done, "is not in order: " + arm->reason());
        return;
      }
      if (*before.within_days == 0)
        missing(before, *other, done, "belongs to the day itself").same_day = true;
      else
        missing(before, *other, done,
                done == nullptr ? "has no record"
                                : fmt::format("was last done {}, more than {} days ago",
                                              format_day(done->day), *before.within_days));
      return;
    }
    if (!arm || arm->state == DueState::due || arm->state == DueState::later) return;
    missing(before, *other, doings.last(),
            arm->state == DueState::overdue
                ? fmt::format("is overdue since {}", format_day(arm->due.value_or(now_.on)))
                : "has no record");
  }

  Block& missing(const Prerequisite& before, const Procedure& other, const Record* record,
                 std::string_view what) {
    auto& block = add("before", record, fmt::format("{} {}: {}", other.name, what, before.reason),
                      fmt::format("do and record {}", other.id));
    block.procedure = other.id;
    block.hard = before.hard;
    block.may_override = other.record_kind != "lamp-check" && other.record_kind != "level-check";
    return block;
  }

  const Procedure* look_up_in(std::string_view id) {
    const auto found = std::find_if(now_.procedures.begin(), now_.procedures.end(),
                                    [&](const Procedure& p) { return p.id == id; });
    return found == now_.procedures.end() ? nullptr : &*found;
  }

  const Situation& now_;
  const Procedure& procedure_;
  const bool standing_only_;
  std::vector<Block> found_;
};

}  // namespace

Block block_by(std::string id, const Record* record, std::string reason, std::string clears) {
  Block block;
  block.id = std::move(id);
  block.reason = std::move(reason);
  block.clears = std::move(clears);
  if (record != nullptr) {
    block.record = record->uid;
    block.record_id = record->id;
    block.day = record->day;
  }
  return block;
}

std::vector<Block> blocks(const Situation& now, const Procedure& procedure, bool standing_only) {
  return Gates(now, procedure, standing_only).all();
}

std::vector<Block> blocks(const CarSheet& car, std::span<const Record> records,
                          std::span<const Procedure> procedures, const Procedure& procedure,
                          Day on) {
  return blocks(Situation(car, records, procedures, on), procedure, false);
}

}  // namespace stopledger
