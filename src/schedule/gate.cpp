#include "schedule/gate.h"

#include <fmt/format.h>

#include <algorithm>

#include "record/contradiction.h"
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

  std::vector<Block> session() {
    lamp();
    level();
    fluid();
    faults();
    failed_tests();
    open_session();
    return std::move(found_);
  }

 private:
  Block& add(std::string id, const Record* record, std::string reason, std::string clears) {
    Block block;
    block.id = std::move(id);
    block.reason = std::move(reason);
    block.clears = std::move(clears);
    if (record != nullptr) {
      block.record = record->uid;
      block.record_id = record->id;
      block.day = record->day;
    }
    found_.push_back(std::move(block));
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

  /// Newest of a kind, when nothing that passed came after it.
  const Record* open_failure(std::string_view kind) {
    const Record* newest = now_.history.newest(kind);
    return newest != nullptr && field(*newest, "result") == "fail" ? newest : nullptr;
  }

  void lamp() {
    const Record* check = now_.history.newest("lamp-check");
    const Record* run = now_.history.newest("after-run");
    if (run != nullptr && flag(*run, "lamp") && (check == nullptr || after(*run, *check)))
      add("lamp", run, fmt::format("a lamp was on after the run of {} (C4)", format_day(run->day)),
          "have the cause put right, then a lamp and code check that passes")
          .procedure = "lamp-code-check";
    else if (const Record* failed = open_failure("lamp-check"))
      add("lamp", failed,
          fmt::format("a lamp was on or a code open on {} (codes: {}) (C4)",
                      format_day(failed->day), field(*failed, "codes")),
          "have the cause put right, then a lamp and code check that passes")
          .procedure = "lamp-code-check";
  }

  void level() {
    const Record* check = now_.history.newest("level-check");
    const Record* run = now_.history.newest("after-run");
    const Record* newest =
        run != nullptr && (check == nullptr || after(*run, *check)) ? run : check;
    if (newest == nullptr) return;
    const std::string clears = "have it repaired, then a level, leak and pedal check that passes";
    const auto block = [&](std::string id, std::string_view what) {
      add(std::move(id), newest, fmt::format("{} on {} (C4)", what, format_day(newest->day)),
          clears)
          .procedure = "level-leak-pedal";
    };
    const auto number = [&](const std::string& name) {
      const auto found = newest->fields.find(name);
      return found == newest->fields.end() ? std::nullopt : found->second.normalised;
    };
    const std::size_t before = found_.size();
    if (flag(*newest, "leaks")) block("leak", "fluid was leaking");
    if (number("level").value_or(0.0) < 0.0) block("level", "the fluid stood below MIN");
    const bool failed = field(*newest, "result") == "fail";
    // Which of its points failed is not always told; the pedal is then the one to fear.
    if (failed && (number("sink").value_or(0.0) > 0.0 || found_.size() == before))
      block("pedal", number("sink").value_or(0.0) > 0.0
                         ? "the pedal sank"
                         : "level, leaks or pedal were not in order");
  }

  void fluid() {
    if (now_.car.fluid_grade == "DOT 5")
      add("fluid-grade", nullptr,
          "the sheet says DOT 5, which is silicone: it takes up air and foams in an ABS unit (C11)",
          "leave the conversion back to a licensed shop, then correct the sheet")
          .procedure = "fluid-change";
    const Record* change = now_.history.newest("fluid-change");
    if (change != nullptr && field(*change, "grade") == "DOT 5" && now_.car.fluid_grade != "DOT 5")
      add("fluid-grade", change,
          fmt::format("DOT 5, which is silicone, was filled in on {} (C11)",
                      format_day(change->day)),
          "leave the conversion back to a licensed shop, then record a fluid change")
          .procedure = "fluid-change";
    const Record* test = now_.history.newest("fluid-test");
    if (test != nullptr && field(*test, "result") == "fail" &&
        (change == nullptr || after(*test, *change))) {
      auto& block = add("fluid-test", test,
                        fmt::format("the fluid failed its test on {}", format_day(test->day)),
                        "change the fluid");
      block.procedure = "fluid-change";
      block.may_override = true;
    }
  }

  void faults() {
    for (const Record* fault : now_.history.of("fault")) {
      const auto closes = [&](const Record* r) {
        return now_.history.standing_uid(field(*r, "fault")) == fault->uid;
      };
      const auto repairs = now_.history.of("repair"), parts = now_.history.of("part");
      if (std::any_of(repairs.begin(), repairs.end(), closes) ||
          std::any_of(parts.begin(), parts.end(), closes))
        continue;
      add("fault", fault,
          fmt::format("a fault is open since {}: {}", format_day(fault->day),
                      field(*fault, "what")),
          "have it repaired and record the repair with this fault's number")
          .may_override = true;
    }
  }

  void failed_tests() {
    for (const auto& other : now_.procedures) {
      if (other.is_session || !applies_to(now_.car, other) || other.record_kind == "lamp-check" ||
          other.record_kind == "level-check" || other.record_kind == "fluid-test")
        continue;
      if (const Record* failed = now_.judgement(other).doings.open_failure()) {
        auto& block = add("failed-test", failed,
                          fmt::format("{} came out as {} on {}", other.name, failure_words(*failed),
                                      format_day(failed->day)),
                          "have the cause put right, then do it again until it passes");
        block.procedure = other.id;
        block.may_override = true;
      }
    }
    suspect();
  }

  /// A corner that did not answer in a session: static test or repair before the next one.
  void suspect() {
    const Record* bad = nullptr;
    for (const Record* r : now_.history.of("exercise"))
      if (field(*r, "result") == "suspect") bad = r;
    if (bad == nullptr) return;
    for (const auto kind : {"valve-test", "repair", "part"})
      for (const Record* r : now_.history.of(kind))
        if (after(*r, *bad) && field(*r, "result") != "fail" && failing_corner(*r).empty()) return;
    auto& block =
        add("not-answered", bad,
            fmt::format("a corner did not answer as it should on {}", format_day(bad->day)),
            "a lifted-wheel valve test that passes, or a recorded repair");
    block.procedure = "valve-test";
    block.may_override = true;
  }

  void open_session() {
    const Record* newest = nullptr;
    for (const auto kind : {"session", "exercise"})
      if (const Record* r = now_.history.newest(kind); r && (!newest || after(*r, *newest)))
        newest = r;
    if (newest == nullptr || newest->day == now_.on) return;
    const Record* closed = now_.history.newest("after-run");
    if (closed != nullptr && closed->day >= newest->day) return;
    add("after-run", newest,
        fmt::format("the session of {} was never closed by its after-run check (C16)",
                    format_day(newest->day)),
        "do and record the after-run check")
        .procedure = "after-run";
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

const std::vector<Block>& Situation::session_blocks() const {
  static const Procedure any;  // what blocks every session does not depend on which
  if (!session_blocks_) session_blocks_ = Gates(*this, any, false).session();
  return *session_blocks_;
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
