#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "record/car_sheet.h"

namespace stopledger {

namespace {

using json = nlohmann::json;

struct CarOptions {
  std::string name;
  std::vector<std::string> fields, manual, rules;
  std::string rename, reason, who, date;
  bool json_out = false, sold = false, active = false, all = false;
};

std::pair<std::string, std::string> key_value(const std::string& option, const std::string& text) {
  const auto equals = text.find('=');
  if (equals == std::string::npos || equals == 0 || equals + 1 == text.size())
    throw Error(ErrorKind::usage,
                fmt::format("{}: \"{}\" must be written NAME=TEXT", option, text));
  return {text.substr(0, equals), text.substr(equals + 1)};
}

/// "fluid-change=24 months, 30000 km, page 12": the figures of the car's own manual.
ManualRule parse_rule(const std::string& text) {
  const auto [procedure, rest] = key_value("--rule", text);
  ManualRule rule{.procedure = procedure, .months = {}, .distance_km = {}, .where = {}};
  std::size_t from = 0;
  while (from < rest.size()) {
    const auto to = std::min(rest.find(", ", from), rest.size());
    auto part = rest.substr(from, to - from);
    from = to + 2;  // a comma without a space may be a decimal sign
    part.erase(0, part.find_first_not_of(' '));
    const auto unit = part.find_last_of(' ');
    if (part.ends_with(" months") || part.ends_with(" month")) {
      const auto months = parse_measure(part.substr(0, unit), Dimension::count);
      if (months < 1 || months > 1200)
        throw Error(ErrorKind::usage, fmt::format("--rule: \"{}\": 1 to 1200 months", part));
      rule.months = static_cast<int>(months);
    } else if (part.ends_with(" km") || part.ends_with(" mi")) {
      rule.distance_km = parse_measure(part, Dimension::distance);
      if (*rule.distance_km <= 0.0)
        throw Error(ErrorKind::usage, fmt::format("--rule: \"{}\" is no distance", part));
    } else {
      rule.where += (rule.where.empty() ? "" : ", ") + part;
    }
  }
  if (!rule.months && !rule.distance_km)
    throw Error(ErrorKind::usage,
                fmt::format("--rule: \"{}\" has neither months nor distance; write PROCEDURE=\"24 "
                            "months, 30000 km, manual page 12\"",
                            text));
  if (rule.where.empty())
    throw Error(ErrorKind::usage,
                fmt::format("--rule: \"{}\" does not say where in the manual it stands", text));
  return rule;
}

void apply(CarSheet& sheet, const CarOptions& options) {
  set_car_fields(sheet, options.fields);
  for (const auto& text : options.manual) {
    const auto [field, where] = key_value("--manual", text);
    bool known = false;
    for (const auto& entry : car_fields()) known = known || entry.name == field;
    if (!known)
      throw Error(ErrorKind::usage, fmt::format("--manual: the car sheet has no field \"{}\"; "
                                                "stopledger car fields lists them",
                                                field));
    sheet.manual_refs[field] = where;
  }
  for (const auto& text : options.rules) {
    const auto rule = parse_rule(text);
    std::erase_if(sheet.rules,
                  [&](const ManualRule& old) { return old.procedure == rule.procedure; });
    sheet.rules.push_back(rule);
  }
}

void print_sheet(std::ostream& out, const CarSheet& sheet) {
  out << sheet.facts.name
      << (sheet.state == CarState::active
              ? ""
              : fmt::format(" ({}{})", car_state_name(sheet.state),
                            sheet.out_of_use ? " since " + format_day(*sheet.out_of_use) : ""))
      << "\n";
  const auto values = car_field_values(sheet);
  std::vector<std::string> missing;
  for (const auto& field : car_fields()) {
    const std::string name(field.name);
    const auto found = values.find(name);
    if (found == values.end()) {
      missing.push_back(name);
      continue;
    }
    const auto where = sheet.manual_refs.find(name);
    out << fmt::format(
        "  {:<16} {}{}\n", name, found->second.written,
        where == sheet.manual_refs.end() ? "" : fmt::format("   [manual: {}]", where->second));
  }
  for (const auto& rule : sheet.rules)
    out << fmt::format("  rule {}: {}{}{}   [manual: {}]\n", rule.procedure,
                       rule.months ? fmt::format("{} months", *rule.months) : "",
                       rule.months && rule.distance_km ? " or " : "",
                       rule.distance_km ? plain_number(*rule.distance_km, 0) + " km" : "",
                       rule.where);
  if (!missing.empty()) out << fmt::format("  not known yet: {}\n", fmt::join(missing, ", "));
  if (sheet.facts.unit_kind == UnitKind::unknown)
    out << "  The unit kind is unknown: only procedures that are safe for every kind are "
           "offered.\n";
  if (sheet.facts.unit_kind == UnitKind::high_pressure_store ||
      sheet.facts.unit_kind == UnitKind::booster_store)
    out << "  High-pressure store: discharge it as the manual says before opening anything; the "
           "key stays off.\n";
  if (sheet.fluid_grade == "DOT 5")
    out << "  Silicone fluid has no place in a system with such a unit; have a licensed shop look "
           "at it.\n";
}

void print_list(std::ostream& out, const std::vector<CarSheet>& cars, bool all) {
  std::size_t width = 3;
  for (const auto& car : cars) width = std::max(width, car.facts.name.size());
  std::size_t hidden = 0;
  for (const auto& car : cars) {
    if (!all && car.state != CarState::active) {
      ++hidden;
      continue;
    }
    out << fmt::format("{:<{}}  {:<8} unit {}, {}\n", car.facts.name, width,
                       car_state_name(car.state), unit_kind_name(car.facts.unit_kind),
                       car.fluid_grade.empty() ? "fluid unknown" : car.fluid_grade);
  }
  if (cars.empty()) out << "No cars yet; stopledger car add NAME makes one.\n";
  if (hidden > 0) out << fmt::format("{} retired or sold; --all shows them.\n", hidden);
}

}  // namespace

void add_car(CLI::App& app, Context& context) {
  auto* car = app.add_subcommand("car", "The cars and their unit sheets");
  car->require_subcommand(1);
  const auto options = std::make_shared<CarOptions>();
  const auto with_fields = [&](CLI::App* sub) {
    sub->add_option("name", options->name, "the car's name")->required();
    sub->add_option("fields", options->fields, "FIELD=VALUE ...; stopledger car fields lists them");
    sub->add_option("--manual", options->manual, "FIELD=WHERE it stands in the manual");
    sub->add_option("--rule", options->rules,
                    "the manual's interval: PROCEDURE=\"24 months, 30000 km, page 12\"");
    sub->add_option("--who", options->who, "who enters it");
  };

  auto* add = car->add_subcommand("add", "Add a car");
  with_fields(add);
  add->callback([options, &context] {
    CarSheet sheet;
    sheet.facts.name = options->name;
    apply(sheet, *options);
    auto ledger = open_ledger(context, Ledger::Mode::create);
    ledger.add_car(sheet, stamp_of(context, options->who));
    context.out << "Added.\n";
    print_sheet(context.out, ledger.car(options->name));
  });

  auto* list = car->add_subcommand("list", "List the cars");
  list->add_flag("--all", options->all, "retired and sold ones too");
  list->add_flag("--json", options->json_out, "as JSON");
  list->callback([options, &context] {
    const auto ledger = open_ledger(context, Ledger::Mode::read);
    const auto cars = ledger.cars();
    if (!options->json_out) return print_list(context.out, cars, options->all);
    json out{{"schema", "stopledger.cars/1"}, {"cars", json::array()}};
    for (const auto& sheet : cars) out["cars"].push_back(json::parse(car_json(sheet)));
    context.out << out.dump(2) << "\n";
  });

  auto* show = car->add_subcommand("show", "Show a car's sheet");
  show->add_option("name", options->name, "the car's name");
  show->add_flag("--json", options->json_out, "as JSON");
  show->callback([options, &context] {
    const auto ledger = open_ledger(context, Ledger::Mode::read);
    const auto sheet = ledger.car(pick_car(ledger, options->name));
    if (options->json_out) {
      auto out = json::parse(car_json(sheet));
      out["schema"] = "stopledger.car/1";
      context.out << out.dump(2) << "\n";
    } else {
      print_sheet(context.out, sheet);
    }
  });

  auto* edit = car->add_subcommand("edit", "Change a car's sheet; the old one stays in the trail");
  with_fields(edit);
  edit->add_option("--rename", options->rename, "a new name");
  edit->add_option("--reason", options->reason, "why");
  edit->callback([options, &context] {
    if (options->fields.empty() && options->manual.empty() && options->rules.empty() &&
        options->rename.empty())
      throw Error(ErrorKind::usage,
                  "nothing to change: give FIELD=VALUE, --manual, --rule or "
                  "--rename");
    auto ledger = open_ledger(context, Ledger::Mode::write);
    ledger.begin();
    auto sheet = ledger.car(options->name);
    apply(sheet, *options);
    if (!options->rename.empty()) sheet.facts.name = options->rename;
    ledger.edit_car(options->name, sheet, options->reason, stamp_of(context, options->who));
    ledger.commit();
    context.out << "Changed.\n";
    print_sheet(context.out, ledger.car(sheet.facts.name));
  });

  auto* retire =
      car->add_subcommand("retire", "Take a car out of the lists; nothing of it is lost");
  retire->add_option("name", options->name, "the car's name")->required();
  auto* sold = retire->add_flag("--sold", options->sold, "it was sold");
  auto* active = retire->add_flag("--active", options->active, "it is back in use");
  auto* date = retire->add_option("--date", options->date, "when it was, YYYY-MM-DD (today)");
  active->excludes(sold)->excludes(date);
  retire->add_option("--reason", options->reason, "why, to whom");
  retire->add_option("--who", options->who, "who enters it");
  retire->callback([options, &context] {
    auto ledger = open_ledger(context, Ledger::Mode::write);
    ledger.begin();
    auto sheet = ledger.car(options->name);
    sheet.state = options->active ? CarState::active
                  : options->sold ? CarState::sold
                                  : CarState::retired;
    sheet.out_of_use.reset();
    if (!options->date.empty()) sheet.out_of_use = past_day(context, "--date", options->date);
    ledger.edit_car(options->name, sheet, options->reason, stamp_of(context, options->who));
    ledger.commit();
    context.out << fmt::format("{} is {} now.\n", sheet.facts.name, car_state_name(sheet.state));
  });

  car->add_subcommand("fields", "List the fields of the sheet")->callback([&context] {
    for (const auto& field : car_fields())
      context.out << fmt::format("{:<16} {}\n", field.name, field_help(field));
  });
}

}  // namespace stopledger
