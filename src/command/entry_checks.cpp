#include "command/entry_checks.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <ostream>

#include "base/error.h"
#include "procedure/library.h"
#include "record/car_sheet.h"
#include "record/car_trail.h"
#include "record/contradiction.h"
#include "record/kinds.h"

namespace stopledger {

void refuse_contradiction(const Record& fact, const Record* before) {
  const auto text = contradiction(fact);
  if (text.empty() || (before != nullptr && contradiction(*before) == text)) return;
  throw Error(ErrorKind::usage, fmt::format("{}: {}", fact.kind, text));
}

void refuse_after_retirement(const Ledger& ledger, const std::string& car, Day day,
                             bool day_given) {
  const auto now = car_state_since(ledger, car);
  if (now.state == CarState::active || day < now.since || (day == now.since && day_given)) return;
  throw Error(
      ErrorKind::usage,
      fmt::format("{} is {} since {}{} and takes no records of what came after; give --date if it "
                  "happened before, or take the car back: stopledger car retire \"{}\" --active",
                  car, car_state_name(now.state), format_day(now.since),
                  now.reason.empty() ? "" : fmt::format(" ({})", now.reason), car));
}

void question_reading(std::ostream& err, std::span<const Record> others, const Record& saved) {
  if (!saved.odometer_km) return;
  for (const auto& other : others) {
    if (!other.odometer_km || other.uid == saved.uid || other.uid == saved.supersedes) continue;
    const auto& first = other.day <= saved.day ? other : saved;
    const auto& second = other.day <= saved.day ? saved : other;
    // Chosen: one unit of the dial may be rounded off.
    if (*second.odometer_km > *first.odometer_km - 2.0) continue;
    const bool replaced = std::any_of(others.begin(), others.end(), [&](const Record& record) {
      return record.kind == "cluster-replaced" && record.day >= first.day &&
             record.day <= second.day;
    });
    if (replaced || saved.kind == "cluster-replaced") continue;
    err << fmt::format(
        "stopledger: the reading goes back against #{} ({} on {}): correct the wrong one, or "
        "record cluster-replaced\n",
        other.id, other.odometer_written, format_day(other.day));
    return;
  }
}

void question_grade(std::ostream& err, const CarSheet& car, const Record& saved) {
  if (saved.kind != "fluid-change" && saved.kind != "re-flush") return;
  const auto grade = saved.fields.find("grade");
  if (car.fluid_grade.empty() || grade == saved.fields.end() ||
      grade->second.written == car.fluid_grade)
    return;
  const auto& filled = grade->second.written;
  err << fmt::format(
      "stopledger: {} was filled in, the sheet of {} says {}: correct the record (stopledger "
      "correct {} \"grade=...\") or, if the manual allows it, the sheet (stopledger car edit "
      "\"{}\" \"fluid=...\")\n",
      filled, saved.car, car.fluid_grade, saved.id, saved.car);
  if ((filled == "DOT 5") != (car.fluid_grade == "DOT 5"))
    err << "stopledger: DOT 5 is silicone and is never mixed with the others: do not drive the car "
           "until a licensed shop has looked at it\n";
}

void question_procedure(const Context& context, const Record& saved) {
  const auto named = saved.fields.find("procedure");
  if (named == saved.fields.end()) return;
  const auto known = load_procedures(own_procedures(context));
  std::vector<std::string> ids;
  for (const auto& procedure : known) ids.push_back(procedure.id);
  const std::string& list = named->second.written;
  for (std::size_t from = 0; from < list.size();) {
    const auto to = std::min(list.find_first_of(", ", from), list.size());
    const auto id = list.substr(from, to - from);
    from = to + 1;
    if (id.empty() || look_up(known, id) != nullptr) continue;
    const auto near = near_names(id, ids);
    context.err << fmt::format(
        "stopledger: there is no procedure \"{}\" and the record counts for none{}; put it right "
        "with stopledger correct {} procedure=... (stopledger procedures list shows them)\n",
        id, near.empty() ? "" : fmt::format(" (did you mean {}?)", fmt::join(near, ", ")),
        saved.id);
  }
}

}  // namespace stopledger
