#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "command/commands.h"
#include "procedure/library.h"
#include "report/procedure_text.h"

namespace stopledger {

void add_procedures(CLI::App& app, Context& context) {
  auto* command = app.add_subcommand("procedures", "the procedure library");
  command->require_subcommand(1);

  struct Options {
    std::string id;
    bool json = false;
  };
  auto options = std::make_shared<Options>();

  auto* list = command->add_subcommand("list", "all procedures, one by one");
  list->add_flag("--json", options->json, "as JSON");
  list->callback([&context, options] {
    const auto all = load_procedures(own_procedures(context));
    context.out << (options->json ? procedures_json(all) : procedure_list_text(all));
  });

  auto* show = command->add_subcommand("show", "one procedure, to be read at the car");
  show->add_option("id", options->id, "its id, as in the list")->required();
  show->add_flag("--json", options->json, "as JSON");
  show->callback([&context, options] {
    const auto procedure = find_procedure(options->id, own_procedures(context));
    context.out << (options->json ? procedures_json({&procedure, 1}) : procedure_text(procedure));
  });
}

}  // namespace stopledger
