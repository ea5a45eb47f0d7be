#include "command/entry_checks.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <optional>
#include <ostream>
#include <string_view>

#include "base/error.h"
#include "procedure/library.h"
#include "record/car_sheet.h"
#include "record/car_trail.h"
#include "record/contradiction.h"
#include "record/kinds.h"

namespace stopledger {

namespace {

/// Chosen: no car had a hydraulic unit for anti-lock before (from memory: the first in the 1960s).
constexpr int first_units = 1960;

/// The year in "2003", "2003-05", "May 2003"; nothing when there is none.
std::optional<int> year_in(std::string_view text) {
  const auto digit = [&](std::size_t i) {
    return i < text.size() && text[i] >= '0' && text[i] <= '9';
  };
  for (std::size_t i = 0; i + 4 <= text.size(); ++i) {
    const bool four = digit(i) && digit(i + 1) && digit(i + 2) && digit(i + 3) && !digit(i + 4) &&
                      (i == 0 || !digit(i - 1));
    if (!four) continue;
    int year = 0;
    std::from_chars(text.data() + i, text.data() + i + 4, year);
    return year;
  }
  return std::nullopt;
}

void refuse_before_built(const Ledger& ledger, const std::string& car, Day day) {
  const auto sheet = ledger.car(car).sheet;
  const auto built = sheet.find("built");
  const auto year = built == sheet.end() ? std::nullopt : year_in(built->second.written);
  if (static_cast<int>(day.year()) >= year.value_or(first_units)) return;
  throw Error(
      ErrorKind::usage,
      year
          ? fmt::format("{} lies before {} was built ({}, by its sheet): check the year of --date, "
                        "or put the sheet right: stopledger car edit \"{}\" built=YEAR",
                        format_day(day), car, built->second.written, car)
          : fmt::format("{} lies before any car had such a unit: check the year of --date",
                        format_day(day)));
}

}  // namespace

void refuse_contradiction(const Record& fact, const Record* before) {
  const auto text = contradiction(fact);
  if (text.empty() || (before != nullptr && contradiction(*before) == text)) return;
  throw Error(ErrorKind::usage, fmt::format("{}: {}", fact.kind, text));
}

void refuse_outside_its_life(const Ledger& ledger, const std::string& car, Day day,
                             bool day_given) {
  refuse_before_built(ledger, car, day);
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
