#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "record/kinds.h"
#include "record/record.h"

namespace stopledger {

/// The fields of the car and unit sheet (trade procedure "car and unit sheet"): those that decide
/// how a log is read are mirrored in `CarSheet::facts`.
std::span<const Field> car_fields();

/// Sets fields from "key=value" pairs. The value "unknown" is allowed for every field and says
/// that the fact was looked for and is not known.
///
/// Throws Error(usage) naming the field and what would be right; the sheet is then unchanged.
void set_car_fields(CarSheet& sheet, std::span<const std::string> pairs);

/// Every field of the sheet by name, those known only from `facts` included.
std::map<std::string, FieldValue> car_field_values(const CarSheet& sheet);

/// The sheet as canonical JSON text (sorted keys, no white space), and back.
/// `parse_car_json` throws Error(ledger) for text that is no sheet.
std::string car_json(const CarSheet& sheet);
CarSheet parse_car_json(const std::string& text);

/// "active", "retired", "sold".
std::string_view car_state_name(CarState state);

}  // namespace stopledger
