#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "procedure/procedure.h"
#include "schedule/history.h"

namespace stopledger {

/// How a record answers the procedure that it was made for.
enum class Outcome {
  done,      ///< it was done and nothing is left open
  failed,    ///< it was done and showed something that is not in order
  no_answer  ///< it was tried, and the log or the test could not tell
};

/// A record of the procedure's kind is one of its own unless it names other procedures only.
bool belongs_to(const Record& record, const Procedure& procedure);

Outcome outcome_of(const Record& record, const Procedure& procedure);

/// What it was that came out wrong: the result, or the corner that a test recorded as not in order
/// although its result says otherwise.
std::string failure_words(const Record& record);

/// The procedure's own records by outcome, the newest of each.
struct Doings {
  const Record* done = nullptr;
  const Record* failed = nullptr;
  const Record* no_answer = nullptr;
  /// Done or failed, whichever was last: when it was last carried out.
  [[nodiscard]] const Record* last() const;
  /// The newest failure when nothing was done since.
  [[nodiscard]] const Record* open_failure() const;
};
Doings doings_of(const History& history, const Procedure& procedure);

/// The rule that holds for this car: the manual's figure where there is one, else the procedure's
/// interval (common practice). Points at the procedure's own interval or, when the manual changes
/// it, at `merged`. The season of a car kept in the southern half of the world is half a year
/// later. nullptr when neither says anything.
const Interval* rule_for(const CarSheet& car, const Procedure& procedure,
                         std::optional<Interval>& merged);

/// False when the car's unit is of a kind that the procedure is not made for. An unknown kind
/// gets what is made for every kind.
bool applies_to(const CarSheet& car, const Procedure& procedure);

/// A trigger as in Interval::after_records: "repair" (any record of the kind), "repair:unit" (its
/// flag says yes), "after-run:result=re-flush" (its field says so).
struct Trigger {
  std::string_view kind, field, value;  ///< parts of the text that was parsed
};
/// Nothing when the text has no kind or an empty part.
std::optional<Trigger> parse_trigger(std::string_view text);
bool fires(const Record& record, const Trigger& trigger);

/// The newest record that sets off one of the rule's triggers.
const Record* newest_trigger(const History& history, const Interval& rule);

/// A yearly window.
struct Season {
  Day start{}, end{};  ///< both days inside
};
/// The season that starts in that year. Requires: season_months not empty.
Season season_of(const Interval& rule, int year);
/// Year of the newest season that has started by then, when it starts `early` months sooner.
int season_year(const Interval& rule, Day day, int early_months);

}  // namespace stopledger
