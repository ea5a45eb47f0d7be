#include "command/table.h"

#include <CLI/CLI.hpp>
#include <catch2/catch.hpp>
#include <sstream>

using namespace stopledger;

TEST_CASE("naming a command on the command line adds that command and no other", "[command]") {
  std::stringstream none;
  Context context{.in = none,
                  .out = none,
                  .err = none,
                  .now_utc = {},
                  .env = [](const std::string&) { return std::nullopt; },
                  .ledger_option = {}};
  const auto names = [](const CLI::App& app) {
    std::vector<std::string> all;
    for (const auto* command : app.get_subcommands([](const CLI::App*) { return true; }))
      all.push_back(command->get_name());
    return all;
  };
  CLI::App all;
  add_all_commands(all, context);
  REQUIRE(names(all).size() >= 15);
  for (const auto& name : names(all)) {
    CLI::App one;
    add_commands_named(one, context, std::vector<std::string>{"--ledger", "x.db", name, "y"});
    CHECK(names(one) == std::vector{name});
  }
  CLI::App nothing;
  add_commands_named(nothing, context, std::vector<std::string>{"hstory"});
  CHECK(names(nothing).empty());
}
