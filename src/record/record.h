#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/car.h"
#include "base/day.h"
#include "record/fields.h"

namespace stopledger {

/// One dated fact about one car. Records are never changed: a correction supersedes.
struct Record {
  std::int64_t id = 0;  ///< row in this ledger
  std::string uid;      ///< stable across ledgers (exchange, calendar)
  std::string car;      ///< car name
  std::string kind;     ///< a row of the kinds table: "fluid-change", "exercise", ...
  Day day{};            ///< when it happened
  std::optional<double> odometer_km;
  std::string odometer_written;  ///< "45210 mi"; "" when there is none
  Fields fields;
  std::string who;  ///< who did it
  std::string signed_by;
  std::string note;
  std::string entered_at;                    ///< UTC, RFC 3339
  std::string entered_by;                    ///< who typed it in, when that was said
  std::optional<std::string> supersedes;     ///< uid of the record this one corrects
  std::optional<std::string> superseded_by;  ///< set when a later one corrects this one
  bool removed = false;
  std::string removal_reason;

  /// True when it stands: neither superseded nor removed.
  [[nodiscard]] bool current() const { return !removed && !superseded_by; }
};

/// A rule of the car's own manual; beats common practice.
struct ManualRule {
  std::string procedure;  ///< procedure id
  std::optional<int> months;
  std::optional<double> distance_km;
  std::string where;  ///< where in the manual it stands
};

enum class CarState { active, retired, sold };

/// A car as the ledger keeps it.
struct CarSheet {
  CarFacts facts;
  CarState state = CarState::active;
  std::optional<Day> out_of_use;  ///< day on which it was retired or sold, when somebody said so
  std::string fluid_grade;        ///< "DOT 3", "DOT 4", "DOT 5", "DOT 5.1", "" unknown
  bool odometer_in_miles = false;
  bool southern = false;  ///< kept south of the equator: seasons are half a year later
  std::map<std::string, FieldValue> sheet;         ///< the rest of the unit sheet (trade P01)
  std::map<std::string, std::string> manual_refs;  ///< fact -> where it stands in the manual
  std::vector<ManualRule> rules;
};

}  // namespace stopledger
