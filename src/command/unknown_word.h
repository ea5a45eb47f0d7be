#pragma once

#include <span>
#include <string>

namespace CLI {
class App;
}

namespace stopledger {

/// What to say about a command line with a word that is no command or option here, with near ones
/// or all there are: `there is no command "hstory"; did you mean history?`. "" when every word of
/// it is known and something else is wrong.
std::string unknown_word(const CLI::App& app, std::span<const std::string> words);

}  // namespace stopledger
