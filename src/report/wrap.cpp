#include "report/wrap.h"

#include <algorithm>

namespace stopledger {
namespace {

std::size_t columns(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

}  // namespace

std::string wrap(std::string_view first, std::string_view text, std::size_t width) {
  const std::size_t indent = columns(first);
  std::string out(first);
  std::size_t at = indent;
  bool fresh = true;
  while (!text.empty()) {
    const auto end = std::min(text.find_first_of(" \n"), text.size());
    const auto word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (word.empty()) continue;
    if (!fresh && at + 1 + columns(word) > width) {
      out += '\n';
      out.append(indent, ' ');
      at = indent;
      fresh = true;
    }
    if (!fresh) {
      out += ' ';
      ++at;
    }
    out += word;
    at += columns(word);
    fresh = false;
  }
  out += '\n';
  return out;
}

}  // namespace stopledger
