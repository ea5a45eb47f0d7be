#include "record/car_sheet.h"

#include <fmt/format.h>

#include <array>

#include "base/error.h"
#include "record/car_facts.h"

namespace stopledger {

namespace {

using D = Dimension;
using T = FieldType;

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

const Field& field_named(std::string_view name) {
  for (const auto& field : sheet_fields)
    if (field.name == name) return field;
  throw Error(ErrorKind::ledger, fmt::format("the car sheet has no field \"{}\"", name));
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

}  // namespace stopledger
