#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "record/measure.h"
#include "record/record.h"

namespace stopledger {

enum class FieldType {
  text,      ///< free text
  flag,      ///< yes or no; normalised 1 or 0
  choice,    ///< one of `choices`
  number,    ///< a number with a unit of `dimension`
  reference  ///< number of another record ("12"); kept as its uid
};

/// One field of a record kind, or of a car's sheet.
struct Field {
  std::string_view name;
  FieldType type = FieldType::text;
  Dimension dimension = Dimension::none;
  double low = 0.0, high = 0.0;   ///< limits in the base unit; equal: none
  bool per_corner = false;        ///< stands for four fields: "fl.NAME" ... "rr.NAME"
  int required = 0;               ///< 1: needed; 2: at least one of all fields marked 2 is needed
  std::string_view choices = {};  ///< "reservoir|caliper FL|..."
  std::string_view help = {};
};

/// One kind of record: a row of the table; adding a kind is adding a row.
struct Kind {
  std::string_view name;
  std::string_view title;
  std::span<const Field> fields;
  std::string_view subject = {};  ///< field that splits the kind when asking for the newest
  std::string_view result = {};   ///< field that says how it came out
};

/// All record kinds.
std::span<const Kind> record_kinds();

/// The kind of that name in any letter case, or nullptr (records of a newer program's kinds may
/// come in from another ledger).
const Kind* known_kind(std::string_view name);

/// As known_kind, but an unknown name is an Error(usage) with near names.
const Kind& find_kind(std::string_view name);

/// The fields with per-corner ones spelled out. Order of the table.
std::vector<std::pair<std::string, const Field*>> spelled_fields(std::span<const Field> fields);

/// What may be written, for people: "yes or no", "km or mi: ...", "number with mL, L; 0 to 5000
/// mL".
std::string field_help(const Field& field);

/// Checks one value. Throws Error(usage): "fluid-change: fl: ...".
FieldValue check_field(std::string_view kind, std::string_view name, const Field& field,
                       std::string_view written);

/// Checks `key=value` pairs against the fields: known names, types, limits; with
/// `demand_required` also that nothing needed is missing. Names in any letter case.
///
/// Throws Error(usage) naming the kind, the field and what would be right.
std::map<std::string, FieldValue> check_fields(std::string_view kind, std::span<const Field> fields,
                                               std::span<const std::string> pairs,
                                               bool demand_required);

/// Those of `names` that are near `wanted` (for "did you mean"), best first, at most three.
std::vector<std::string> near_names(std::string_view wanted, std::span<const std::string> names);

}  // namespace stopledger
