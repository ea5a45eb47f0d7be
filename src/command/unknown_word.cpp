#include "command/unknown_word.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <vector>

#include "record/kinds.h"

namespace stopledger {

namespace {

std::vector<const CLI::App*> commands_of(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

const CLI::Option* option_named(const CLI::App& command, const std::string& word) {
  for (const CLI::App* app = &command; app != nullptr; app = app->get_parent())
    if (const auto* option = app->get_option_no_throw(word)) return option;
  return nullptr;
}

std::vector<std::string> options_of(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::App* app = &command; app != nullptr; app = app->get_parent())
    for (const auto* option : app->get_options())
      for (const auto& name : option->get_lnames()) names.push_back("--" + name);
  return names;
}

}  // namespace

std::string unknown_word(const CLI::App& app, std::span<const std::string> words) {
  const CLI::App* at = &app;
  std::string path;
  for (std::size_t i = 0; i < words.size() && words[i] != "--"; ++i) {
    const auto& word = words[i];
    if (word.starts_with("-") && word.size() > 1) {
      const auto name = word.substr(0, word.find('='));
      const auto* option = option_named(*at, name);
      if (option != nullptr) {
        if (name == word && option->get_items_expected_max() > 0) ++i;  // its value
        continue;
      }
      if (!word.starts_with("--")) continue;  // may be a value such as -3
      const auto near = near_names(name, options_of(*at));
      return fmt::format("there is no option {}; {}", name,
                         near.empty() ? fmt::format("stopledger {}--help lists them", path)
                                      : fmt::format("did you mean {}?", fmt::join(near, ", ")));
    }
    const auto commands = commands_of(*at);
    if (commands.empty()) continue;
    const CLI::App* found = nullptr;
    std::vector<std::string> names;
    for (const auto* command : commands) {
      if (command->check_name(word)) found = command;
      names.push_back(path + command->get_name());
    }
    if (found == nullptr) {
      const auto near = near_names(path + word, names);
      return fmt::format("there is no command \"{}{}\"; {}", path, word,
                         near.empty() ? fmt::format("the commands are {}", fmt::join(names, ", "))
                                      : fmt::format("did you mean {}?", fmt::join(near, ", ")));
    }
    at = found;
    path += word + " ";
  }
  return {};
}

}  // namespace stopledger
