#pragma once

#include <functional>
#include <span>
#include <string>
#include <string_view>

#include "record/record.h"

namespace stopledger {

/// How one field of a car's sheet is mirrored in what decides how its logs are read
/// (CarSheet::facts and their like). Private to src/record.
struct Fact {
  std::string_view field;
  std::function<std::string(const CarSheet&)> written;     ///< "" when unknown
  std::function<void(CarSheet&, const FieldValue*)> take;  ///< nullptr: unknown
};
std::span<const Fact> facts();

/// The field's value unless it says that the fact is not known.
const FieldValue* known(const FieldValue* value);

/// Sets every fact from the fields of the sheet.
void take_facts(CarSheet& sheet);

}  // namespace stopledger
