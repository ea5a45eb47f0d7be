#include "base/toml.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <vector>

#include "base/error.h"

namespace stopledger {
namespace {

struct TomlRefused {};

bool is_refused(std::string_view text) {
  try {
    const auto table = toml::parse(text);
    return false;
  } catch (const toml::parse_error&) {
    return false;
  } catch (const TomlRefused&) {
    return true;
  }
}

/// The first line that makes the text refused: so are all longer beginnings of it.
std::size_t refused_line(std::string_view text) {
  std::vector<std::size_t> ends;
  for (auto end = text.find('\n'); end != std::string_view::npos; end = text.find('\n', end + 1))
    ends.push_back(end + 1);
  const auto first = std::partition_point(
      ends.begin(), ends.end(), [&](std::size_t end) { return !is_refused(text.substr(0, end)); });
  return static_cast<std::size_t>(first - ends.begin()) + 1;
}

}  // namespace

void refuse_toml() { throw TomlRefused{}; }

toml::table parse_toml(std::string_view text, const std::string& file) {
  try {
    return toml::parse(text, file);
  } catch (const toml::parse_error& error) {
    throw Error(ErrorKind::input, {file, error.source().begin.line},
                fmt::format("this is not TOML: {}", error.description()));
  } catch (const TomlRefused&) {
    throw Error(ErrorKind::input, {file, refused_line(text)},
                "this is not TOML: a character stands where a name, a value or a closing bracket "
                "is expected");
  }
}

}  // namespace stopledger
