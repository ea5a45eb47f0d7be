#include <fmt/format.h>

#include <algorithm>

#include "record/contradiction.h"
#include "schedule/item.h"

namespace stopledger {
namespace {

/// What blocks every session of a car, whichever it is.
class SessionGates {
 public:
  explicit SessionGates(const Situation& now) : now_(now) {}

  std::vector<Block> all() {
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
    found_.push_back(block_by(std::move(id), record, std::move(reason), std::move(clears)));
    return found_.back();
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

  const Situation& now_;
  std::vector<Block> found_;
};

}  // namespace

const std::vector<Block>& Situation::session_blocks() const {
  if (!session_blocks_) session_blocks_ = SessionGates(*this).all();
  return *session_blocks_;
}

}  // namespace stopledger
