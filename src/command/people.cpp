#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "command/commands.h"
#include "command/ledger_use.h"
#include "record/people.h"

namespace stopledger {

namespace {

void print_people(std::ostream& out, const std::vector<Person>& people) {
  std::size_t width = 3;
  for (const auto& person : people) width = std::max(width, person.name.size());
  for (const auto& person : people) {
    std::vector<std::string> parts;
    const auto add = [&](std::string_view what, std::size_t n) {
      if (n > 0) parts.push_back(fmt::format("{} {}", what, n));
    };
    add("did", person.did);
    add("signed", person.signed_);
    add("drove or helped", person.helped);
    add("entered", person.entered);
    out << fmt::format("{:<{}}  {} to {}  {}\n", person.name, width, format_day(person.first),
                       format_day(person.last), fmt::join(parts, ", "));
  }
  if (people.empty()) out << "No record names anybody.\n";
}

nlohmann::ordered_json people_json(const std::vector<Person>& people) {
  nlohmann::ordered_json out{{"schema", "stopledger.people/1"},
                             {"people", nlohmann::ordered_json::array()}};
  for (const auto& person : people)
    out["people"].push_back({{"name", person.name},
                             {"did", person.did},
                             {"signed", person.signed_},
                             {"helped", person.helped},
                             {"entered", person.entered},
                             {"first", format_day(person.first)},
                             {"last", format_day(person.last)}});
  return out;
}

}  // namespace

void add_people(CLI::App& app, Context& context) {
  struct Options {
    std::string car;
    bool trail = false, json_out = false;
  };
  auto* command = app.add_subcommand(
      "people", "The people named in the records: who did, signed, helped, entered, and when");
  const auto options = std::make_shared<Options>();
  command->add_option("--car", options->car, "only this car; all cars when left out");
  command->add_flag("--trail", options->trail, "with corrected and removed records");
  command->add_flag("--json", options->json_out, "as JSON");
  command->callback([options, &context] {
    const auto ledger = open_ledger(context, Ledger::Mode::read);
    const auto people = people_of(ledger, options->car, options->trail);
    if (options->json_out)
      context.out << people_json(people).dump(2) << "\n";
    else
      print_people(context.out, people);
  });
}

}  // namespace stopledger
