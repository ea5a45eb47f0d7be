#pragma once

#include <span>
#include <string>

#include "command/context.h"

namespace stopledger {

/// Adds to the command line those subcommands that are among its words, in the order of --help:
/// no other can be meant, and making them all takes longer than many a command.
void add_commands_named(CLI::App& app, Context& context, std::span<const std::string> words);

/// Adds all: for the help, and to say what else there is.
void add_all_commands(CLI::App& app, Context& context);

}  // namespace stopledger
