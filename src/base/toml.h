#pragma once

#include <string>
#include <string_view>

namespace stopledger {

/// Ends the parsing of a text that the library's own checks refuse; parse_toml turns it into Error.
[[noreturn]] void refuse_toml();

}  // namespace stopledger

// The parser checks some characters of its text by assertion only ("[[" before a control
// character); a text from outside must not end the program.
#define TOML_ASSERT(condition) ((condition) ? void() : ::stopledger::refuse_toml())
#include <toml++/toml.h>

namespace stopledger {

/// `file` stands for the text in messages. Error(input), with its line, for what is not TOML.
toml::table parse_toml(std::string_view text, const std::string& file);

}  // namespace stopledger
