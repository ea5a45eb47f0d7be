#include "record/car_sheet.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <functional>
#include <nlohmann/json.hpp>

#include "base/error.h"

namespace stopledger {

namespace {

using D = Dimension;
using T = FieldType;
using json = nlohmann::json;

// Limits catch slips of the pen and of the unit (chosen wide for road cars, common practice).
constexpr std::array sheet_fields{
    Field{.name = "unit",
          .type = T::choice,
          .choices = "two-valve|three-position|motor-piston|high-pressure-store|booster-store",
          .help = "how the hydraulic unit is built"},
    Field{.name = "split", .type = T::choice, .choices = "front-rear|diagonal"},
    Field{.name = "drive", .type = T::choice, .choices = "front|rear|all"},
    Field{.name = "steering-side", .type = T::choice, .choices = "left|right"},
    Field{.name = "channels", .type = T::number, .dimension = D::count, .low = 1, .high = 4},
    Field{.name = "sensors", .type = T::number, .dimension = D::count, .low = 1, .high = 4},
    Field{
        .name = "select-low", .type = T::flag, .help = "rear wheels get what the worse one needs"},
    Field{.name = "isolation", .type = T::flag, .help = "isolation and prime valves"},
    Field{.name = "fluid", .type = T::choice, .choices = "DOT 3|DOT 4|DOT 5|DOT 5.1"},
    Field{.name = "odometer-unit", .type = T::choice, .choices = "km|mi"},
    Field{.name = "hemisphere",
          .type = T::choice,
          .choices = "north|south",
          .help = "where the car is kept; south moves seasons by half a year"},
    Field{.name = "rolling-radius",
          .type = T::number,
          .dimension = D::length,
          .low = 150,
          .high = 700},
    Field{.name = "sensor-teeth",
          .type = T::number,
          .dimension = D::none,
          .low = 4,
          .high = 400,
          .help = "ring teeth per wheel turn"},
    Field{
        .name = "wheelbase", .type = T::number, .dimension = D::length, .low = 1200, .high = 6000},
    Field{.name = "track", .type = T::number, .dimension = D::length, .low = 800, .high = 2500},
    Field{.name = "mass", .type = T::number, .dimension = D::mass, .low = 300, .high = 7500},
    Field{.name = "steering-ratio", .type = T::number, .dimension = D::none, .low = 5, .high = 40},
    Field{.name = "understeer",
          .type = T::number,
          .dimension = D::none,
          .low = -0.1,
          .high = 0.3,
          .help = "gradient in rad per g"},
    Field{.name = "front-disc", .type = T::number, .dimension = D::mass, .low = 1, .high = 40},
    Field{.name = "rear-disc", .type = T::number, .dimension = D::mass, .low = 1, .high = 40},
    Field{.name = "bleed-order", .help = "no default: the manual decides"},
    Field{.name = "bleed-method"},
    Field{.name = "depress-count",
          .type = T::number,
          .dimension = D::count,
          .low = 1,
          .high = 200,
          .help = "pedal presses that empty the store, key off"},
    Field{.name = "level-state", .help = "state in which the reservoir is read"},
    Field{
        .name = "self-test-speed", .type = T::number, .dimension = D::speed, .low = 0, .high = 100},
    Field{.name = "cut-out", .type = T::number, .dimension = D::pressure, .low = 0, .high = 40000},
    Field{.name = "cut-in", .type = T::number, .dimension = D::pressure, .low = 0, .high = 40000},
    Field{.name = "tool-link", .help = "how the recorder talks to the car"},
    Field{.name = "unit-number", .help = "number on the hydraulic unit"},
    Field{.name = "tyres-front"},
    Field{.name = "tyres-rear"},
    Field{.name = "manual", .help = "the service manual, its edition"},
    Field{.name = "built", .help = "year or month"},
    Field{.name = "identity", .help = "registration or chassis number"},
    Field{.name = "owner"},
    Field{.name = "remarks"},
};

/// How one field is mirrored in the facts.
struct Fact {
  std::string_view field;
  std::function<std::string(const CarSheet&)> written;  ///< "" when unknown
  std::function<void(CarSheet&, const FieldValue*)> take;
};

const FieldValue* known(const FieldValue* value) {
  return value != nullptr && value->written != "unknown" ? value : nullptr;
}

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

const std::vector<Fact>& facts() {
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

const Field& field_named(std::string_view name) {
  for (const auto& field : sheet_fields)
    if (field.name == name) return field;
  throw Error(ErrorKind::ledger, fmt::format("the car sheet has no field \"{}\"", name));
}

void take_facts(CarSheet& sheet) {
  for (const auto& fact : facts()) {
    const auto found = sheet.sheet.find(std::string(fact.field));
    fact.take(sheet, known(found == sheet.sheet.end() ? nullptr : &found->second));
  }
}

}  // namespace

std::span<const Field> car_fields() { return sheet_fields; }

std::string_view car_state_name(CarState state) {
  return state == CarState::active ? "active" : state == CarState::retired ? "retired" : "sold";
}

std::map<std::string, FieldValue> car_field_values(const CarSheet& sheet) {
  auto values = sheet.sheet;
  for (const auto& fact : facts()) {
    const auto written = fact.written(sheet);
    const auto found = values.find(std::string(fact.field));
    CarSheet as_kept;  // what the kept text says of this fact, in the facts' own spelling
    fact.take(as_kept, known(found == values.end() ? nullptr : &found->second));
    if (fact.written(as_kept) == written) continue;
    if (written.empty()) {
      values[std::string(fact.field)] = {"unknown", std::nullopt};
    } else {
      values[std::string(fact.field)] =
          check_field("car", fact.field, field_named(fact.field), written);
    }
  }
  return values;
}

void set_car_fields(CarSheet& sheet, std::span<const std::string> pairs) {
  auto values = car_field_values(sheet);
  std::vector<std::string> known_pairs;
  for (const auto& pair : pairs) {
    const auto equals = pair.find('=');
    if (equals != std::string::npos && pair.substr(equals + 1) == "unknown") {
      values[std::string(field_named(pair.substr(0, equals)).name)] = {"unknown", std::nullopt};
    } else {
      known_pairs.push_back(pair);
    }
  }
  for (auto& [name, value] : check_fields("car", sheet_fields, known_pairs, false))
    values[name] = std::move(value);
  sheet.sheet = std::move(values);
  take_facts(sheet);
}

std::string car_json(const CarSheet& sheet) {
  json out{{"name", sheet.facts.name}, {"state", car_state_name(sheet.state)}};
  out["fields"] = json::object();
  for (const auto& [name, value] : car_field_values(sheet)) {
    auto& field = out["fields"][name] = {{"written", value.written}};
    if (value.normalised) field["value"] = *value.normalised;
  }
  if (!sheet.manual_refs.empty()) out["manual"] = sheet.manual_refs;
  for (const auto& rule : sheet.rules) {
    json row{{"procedure", rule.procedure}, {"where", rule.where}};
    if (rule.months) row["months"] = *rule.months;
    if (rule.distance_km) row["distance_km"] = *rule.distance_km;
    out["rules"].push_back(std::move(row));
  }
  try {
    return out.dump();
  } catch (const json::type_error&) {
    throw Error(ErrorKind::usage, "the text of a field is not UTF-8; write it again");
  }
}

CarSheet parse_car_json(const std::string& text) {
  try {
    const auto in = json::parse(text);
    CarSheet sheet;
    sheet.facts.name = in.at("name");
    const std::string state = in.at("state");
    sheet.state = state == "sold"      ? CarState::sold
                  : state == "retired" ? CarState::retired
                                       : CarState::active;
    for (const auto& [name, field] : in.at("fields").items()) {
      FieldValue value{field.at("written"), std::nullopt};
      if (field.contains("value")) value.normalised = field["value"].get<double>();
      sheet.sheet[name] = value;
    }
    if (in.contains("manual"))
      sheet.manual_refs = in["manual"].get<std::map<std::string, std::string>>();
    if (in.contains("rules"))
      for (const auto& row : in["rules"]) {
        ManualRule rule{.procedure = row.at("procedure"),
                        .months = {},
                        .distance_km = {},
                        .where = row.at("where")};
        if (row.contains("months")) rule.months = row["months"].get<int>();
        if (row.contains("distance_km")) rule.distance_km = row["distance_km"].get<double>();
        sheet.rules.push_back(std::move(rule));
      }
    take_facts(sheet);
    return sheet;
  } catch (const json::exception& error) {
    throw Error(ErrorKind::ledger, fmt::format("this is no car sheet: {}", error.what()));
  }
}

}  // namespace stopledger
