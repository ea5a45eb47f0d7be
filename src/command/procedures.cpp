#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>
#include <ostream>

#include "command/commands.h"
#include "procedure/library.h"
#include "report/procedure_text.h"
#include "schedule/lint.h"

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

  auto* check = command->add_subcommand(
      "lint", "do all of them hold together? Exit status 1 when something does not");
  check->callback([&context] {
    const auto all = load_procedures(own_procedures(context));
    std::size_t errors = 0;
    for (const auto& finding : lint(all, load_procedures())) {
      context.out << fmt::format("{}: {}{}\n", finding.file,
                                 finding.error ? "" : "note: ", finding.text);
      errors += finding.error ? 1 : 0;
    }
    context.out << fmt::format(
        "{} procedures, {} of them your own in place of the library's; {}\n", all.size(),
        std::count_if(all.begin(), all.end(),
                      [](const Procedure& p) { return p.overrides_library; }),
        errors == 0 ? "all in order" : fmt::format("{} errors", errors));
    if (errors > 0) context.exit = ExitCode::no;
  });
}

}  // namespace stopledger
