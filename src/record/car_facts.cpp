#include "record/car_facts.h"

#include <vector>

#include "record/measure.h"

namespace stopledger {

namespace {

Fact number_fact(std::string_view field, std::optional<double> CarFacts::*member,
                 double per_base = 1.0, std::string_view unit = "") {
  return {field,
          [=](const CarSheet& sheet) -> std::string {
            const auto& value = sheet.facts.*member;
            if (!value) return {};
            return plain_number(*value / per_base, 6) + (unit.empty() ? "" : " ") +
                   std::string(unit);
          },
          [=](CarSheet& sheet, const FieldValue* value) {
            sheet.facts.*member = value == nullptr || !value->normalised
                                      ? std::nullopt
                                      : std::optional(*value->normalised * per_base);
          }};
}

Fact count_fact(std::string_view field, std::optional<int> CarFacts::*member) {
  return {field,
          [=](const CarSheet& sheet) {
            const auto& value = sheet.facts.*member;
            return value ? std::to_string(*value) : std::string();
          },
          [=](CarSheet& sheet, const FieldValue* value) {
            sheet.facts.*member = value == nullptr || !value->normalised
                                      ? std::nullopt
                                      : std::optional(static_cast<int>(*value->normalised));
          }};
}

Fact flag_fact(std::string_view field, std::optional<bool> CarFacts::*member) {
  return {field,
          [=](const CarSheet& sheet) -> std::string {
            const auto& value = sheet.facts.*member;
            return value ? (*value ? "yes" : "no") : "";
          },
          [=](CarSheet& sheet, const FieldValue* value) {
            sheet.facts.*member =
                value == nullptr ? std::nullopt : std::optional(value->normalised == 1.0);
          }};
}

template <typename Enum>
Fact name_fact(std::string_view field, Enum CarFacts::*member, std::string_view (*name)(Enum),
               std::optional<Enum> (*parse)(std::string_view)) {
  return {field,
          [=](const CarSheet& sheet) -> std::string {
            return sheet.facts.*member == Enum::unknown ? ""
                                                        : std::string(name(sheet.facts.*member));
          },
          [=](CarSheet& sheet, const FieldValue* value) {
            sheet.facts.*member =
                value == nullptr ? Enum::unknown : parse(value->written).value_or(Enum::unknown);
          }};
}

}  // namespace

const FieldValue* known(const FieldValue* value) {
  return value != nullptr && value->written != "unknown" ? value : nullptr;
}

std::span<const Fact> facts() {
  static const std::vector<Fact> table{
      name_fact("unit", &CarFacts::unit_kind, unit_kind_name, parse_unit_kind),
      name_fact("split", &CarFacts::split, split_name, parse_split),
      name_fact("drive", &CarFacts::drive, drive_name, parse_drive),
      name_fact("steering-side", &CarFacts::steering_side, steering_side_name, parse_steering_side),
      count_fact("channels", &CarFacts::channels),
      count_fact("sensors", &CarFacts::sensors),
      flag_fact("select-low", &CarFacts::rear_select_low),
      flag_fact("isolation", &CarFacts::has_isolation_valves),
      number_fact("rolling-radius", &CarFacts::rolling_radius_m, 0.001, "mm"),
      number_fact("sensor-teeth", &CarFacts::sensor_teeth),
      number_fact("wheelbase", &CarFacts::wheelbase_m, 0.001, "mm"),
      number_fact("track", &CarFacts::track_m, 0.001, "mm"),
      number_fact("mass", &CarFacts::mass_kg, 1.0, "kg"),
      number_fact("steering-ratio", &CarFacts::steering_ratio),
      number_fact("understeer", &CarFacts::understeer_gradient_rad),
      number_fact("front-disc", &CarFacts::front_disc_kg, 1.0, "kg"),
      number_fact("rear-disc", &CarFacts::rear_disc_kg, 1.0, "kg"),
      {"fluid", [](const CarSheet& sheet) { return sheet.fluid_grade; },
       [](CarSheet& sheet, const FieldValue* value) {
         sheet.fluid_grade = value == nullptr ? "" : value->written;
       }},
      {"odometer-unit",
       [](const CarSheet& sheet) { return std::string(sheet.odometer_in_miles ? "mi" : ""); },
       [](CarSheet& sheet, const FieldValue* value) {
         sheet.odometer_in_miles = value != nullptr && value->written == "mi";
       }},
      {"hemisphere",
       [](const CarSheet& sheet) { return std::string(sheet.southern ? "south" : ""); },
       [](CarSheet& sheet, const FieldValue* value) {
         sheet.southern = value != nullptr && value->written == "south";
       }},
  };
  return table;
}

void take_facts(CarSheet& sheet) {
  for (const auto& fact : facts()) {
    const auto found = sheet.sheet.find(std::string(fact.field));
    fact.take(sheet, known(found == sheet.sheet.end() ? nullptr : &found->second));
  }
}

}  // namespace stopledger
