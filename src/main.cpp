#include <date/date.h>
#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <new>

#include "base/error.h"
#include "base/memory.h"
#include "base/version.h"
#include "command/table.h"
#include "command/unknown_word.h"

namespace {

using stopledger::Context;
using stopledger::ExitCode;

int status(ExitCode code) { return static_cast<int>(code); }

/// What holds for every subcommand.
void add_common(CLI::App& app, Context& context) {
  app.description(
      "Maintenance and exercise planner for the ABS and stability hydraulics of aging cars.\n"
      "Exit status: 0 done, and the answer is yes; 1 done, and the answer is no;\n"
      "2 the input or the command line could not be used.");
  app.name("stopledger");
  app.set_version_flag("--version", std::string("stopledger ") + stopledger::version);
  app.require_subcommand(1);
  app.add_option("--ledger", context.ledger_option, "the ledger file")->type_name("FILE");
  app.add_option("--procedures", context.procedures_option,
                 "a folder of your own procedures, beside or in place of the library's")
      ->type_name("DIR");
  app.add_option_function<std::string>(
         "--today",
         [&context](const std::string& text) {
           const auto day = stopledger::parse_day(text);
           if (!day)
             throw CLI::ValidationError("--today",
                                        "\"" + text + "\" is not a day; write YYYY-MM-DD");
           context.today = *day;
         },
         "take this as today's date")
      ->type_name("DATE")
      ->trigger_on_parse();
  app.fallthrough();
}

int run(int argc, char** argv) {
  const auto now = date::floor<std::chrono::seconds>(std::chrono::system_clock::now());
  Context context{.in = std::cin,
                  .out = std::cout,
                  .err = std::cerr,
                  .err_is_terminal = isatty(STDERR_FILENO) == 1,
                  .today = stopledger::Day{date::floor<date::days>(now)},
                  .now_utc = date::format("%FT%TZ", now),
                  .env = [](const std::string& name) -> std::optional<std::string> {
                    const char* value = std::getenv(name.c_str());
                    if (value == nullptr) return std::nullopt;
                    return std::string(value);
                  },
                  .ledger_option = {},
                  .procedures_option = {},
                  .exit = ExitCode::yes};

  const std::vector<std::string> words(argv + 1, argv + argc);
  const bool asks_help = std::any_of(words.begin(), words.end(), [](const std::string& word) {
    return word == "-h" || word.starts_with("--help");
  });
  CLI::App app;
  add_common(app, context);
  if (asks_help)
    stopledger::add_all_commands(app, context);
  else
    stopledger::add_commands_named(app, context, words);

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error, context.out, context.err);
    CLI::App whole;
    add_common(whole, context);
    stopledger::add_all_commands(whole, context);
    const auto unknown = stopledger::unknown_word(whole, words);
    context.err << "stopledger: " << (unknown.empty() ? error.what() : unknown)
                << "\nRun with --help for the options.\n";
    return status(ExitCode::unusable);
  }
  context.out.flush();
  if (!context.out)
    throw stopledger::Error(stopledger::ErrorKind::file,
                            "standard output could not be written (disk full or pipe closed)");
  return status(context.exit);
}

}  // namespace

int main(int argc, char** argv) {
  stopledger::use_large_pages();
  std::ios::sync_with_stdio(false);
  try {
    return run(argc, argv);
  } catch (const stopledger::Error& error) {
    std::cerr << "stopledger: " << error.what() << "\n";
  } catch (const std::filesystem::filesystem_error& error) {
    std::cerr << "stopledger: " << error.path1().string() << ": " << error.code().message()
              << "; check the name and its rights\n";
  } catch (const std::bad_alloc&) {
    std::cerr << "stopledger: not enough memory for this input\n";
  } catch (const std::exception& error) {
    std::cerr << "stopledger: this should not happen, please report it: " << error.what() << "\n";
  }
  return status(ExitCode::unusable);
}
