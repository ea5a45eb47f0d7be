#include "record/kinds.h"

#include <catch2/catch.hpp>
#include <random>
#include <set>

#include "base/error.h"
#include "record/car_sheet.h"

using namespace stopledger;

namespace {

std::map<std::string, FieldValue> check(std::string_view kind, std::vector<std::string> pairs) {
  const auto& found = find_kind(kind);
  return check_fields(found.name, found.fields, pairs, true);
}

}  // namespace

TEST_CASE("the table of kinds is sound", "[record][kinds]") {
  std::set<std::string_view> names;
  for (const auto& kind : record_kinds()) {
    INFO(kind.name);
    CHECK(names.insert(kind.name).second);
    std::set<std::string> fields;
    for (const auto& [name, field] : spelled_fields(kind.fields)) {
      INFO(name);
      CHECK(fields.insert(name).second);
      CHECK((field->type == FieldType::choice) == !field->choices.empty());
    }
    if (!kind.subject.empty()) CHECK(fields.contains(std::string(kind.subject)));
    if (!kind.result.empty()) CHECK(fields.contains(std::string(kind.result)));
  }
}

TEST_CASE("fields are kept as written with the value beside", "[record][kinds]") {
  const auto fields = check("fluid-change", {"grade=dot 4", "FL=6 fl oz", "pedal-before= 9,5 cm "});
  CHECK(fields.at("grade").written == "DOT 4");
  CHECK(fields.at("fl").written == "6 fl oz");
  CHECK(*fields.at("fl").normalised == Approx(6 * 29.5735295625));
  CHECK(fields.at("pedal-before").written == "9,5 cm");
  CHECK(*fields.at("pedal-before").normalised == Approx(95.0));
}

TEST_CASE("a wrong field is refused with what would be right", "[record][kinds]") {
  CHECK_THROWS_WITH(check("fluid-change", {}), Catch::Contains("grade is missing"));
  CHECK_THROWS_WITH(check("fluid-change", {"grade=DOT 4", "fl=180 L"}),
                    Catch::Contains("outside 0 to 5000 mL"));
  CHECK_THROWS_WITH(check("fluid-change", {"grade=DOT 4", "grde=x"}), Catch::Contains("grade"));
  CHECK_THROWS_WITH(check("fluid-change", {"grade=DOT 4", "grade=DOT 4"}),
                    Catch::Contains("given twice"));
  CHECK_THROWS_WITH(check("re-flush", {"grade=DOT 4"}), Catch::Contains("at least one"));
  CHECK_THROWS_WITH(check("fluid-test", {"method=look", "place=roof"}),
                    Catch::Contains("reservoir"));
  CHECK_THROWS_WITH(find_kind("fluid-chnage"), Catch::Contains("fluid-change"));
}

TEST_CASE("a car's sheet keeps what was written and the facts follow", "[record][car]") {
  CarSheet sheet;
  sheet.facts.name = "Blue wagon";
  set_car_fields(sheet,
                 std::vector<std::string>{"unit=two-valve", "wheelbase=100 in", "mass=1500 kg",
                                          "select-low=unknown", "odometer-unit=mi"});
  sheet.manual_refs["bleed-order"] = "page 12";
  sheet.rules.push_back(
      {.procedure = "fluid-change", .months = 24, .distance_km = {}, .where = "page 3"});
  CHECK(*sheet.facts.wheelbase_m == Approx(2.54));
  CHECK_FALSE(sheet.facts.rear_select_low);
  const auto back = parse_car_json(car_json(sheet));
  CHECK(back.facts.unit_kind == UnitKind::two_valve);
  CHECK(*back.facts.wheelbase_m == Approx(2.54));
  CHECK(back.odometer_in_miles);
  CHECK(back.sheet.at("wheelbase").written == "100 in");
  CHECK(back.sheet.at("select-low").written == "unknown");
  CHECK(back.rules.at(0).months == 24);
  CHECK(car_json(back) == car_json(sheet));
}

TEST_CASE("facts set in code reach the sheet", "[record][car]") {
  CarSheet sheet;
  sheet.facts.name = "Grey van";
  sheet.facts.channels = 3;
  sheet.facts.rolling_radius_m = 0.301;
  sheet.fluid_grade = "DOT 5.1";
  const auto back = parse_car_json(car_json(sheet));
  CHECK(back.facts.channels == 3);
  CHECK(*back.facts.rolling_radius_m == Approx(0.301));
  CHECK(back.fluid_grade == "DOT 5.1");
}

TEST_CASE("a sheet as the ledger writes it is read as a general reader would", "[record][car]") {
  std::mt19937 random(11);
  const auto pick = [&](std::initializer_list<const char*> words) {
    return std::string(words.begin()[random() % words.size()]);
  };
  for (int i = 0; i < 500; ++i) {
    CarSheet sheet;
    sheet.facts.name = pick({"Blue wagon", "G\xC3\xA4ns", "the \"red\" one", "a\\b", "tab\there"});
    sheet.state = random() % 3 == 0 ? CarState::retired : CarState::active;
    std::vector<std::string> pairs;
    for (const char* pair :
         {"unit=high-pressure-store", "mass=1250.5 kg", "isolation=yes", "sensors=3",
          "select-low=unknown", "hemisphere=south", "odometer-unit=mi", "fluid=DOT 5.1",
          "understeer=-0.001", "split=diagonal"})
      if (random() % 2 == 0) pairs.emplace_back(pair);
    if (random() % 4 == 0)
      pairs.push_back("remarks=" + pick({"says \"no\"", "plain", "a, {b}: [c]"}));
    set_car_fields(sheet, pairs);
    if (random() % 3 == 0) sheet.manual_refs["bleed-order"] = pick({"page 12", "p. \"3\""});
    for (auto rules = random() % 3; rules > 0; --rules) {
      ManualRule rule{.procedure = pick({"fluid-change", "pump-run"}),
                      .months = {},
                      .distance_km = {},
                      .where = pick({"page 3", "\\"})};
      if (random() % 2 == 0) rule.months = static_cast<int>(random() % 40);
      if (random() % 2 == 0) rule.distance_km = 0.1 * static_cast<double>(random() % 100000);
      sheet.rules.push_back(rule);
    }
    const auto text = car_json(sheet);
    // A blank makes it another text for the quick reader, and none for a general one.
    const auto quick = parse_car_json(text), general = parse_car_json(" " + text);
    CHECK(car_json(quick) == text);
    CHECK(car_json(general) == text);
    CHECK(quick.facts.unit_kind == general.facts.unit_kind);
    CHECK(quick.facts.mass_kg == general.facts.mass_kg);
    CHECK(quick.facts.sensors == general.facts.sensors);
    CHECK(quick.facts.rear_select_low == general.facts.rear_select_low);
    CHECK(quick.facts.has_isolation_valves == general.facts.has_isolation_valves);
    CHECK(quick.facts.understeer_gradient_rad == general.facts.understeer_gradient_rad);
    CHECK(quick.facts.split == general.facts.split);
    CHECK(quick.fluid_grade == general.fluid_grade);
    CHECK(quick.southern == general.southern);
    CHECK(quick.odometer_in_miles == general.odometer_in_miles);
  }
}
