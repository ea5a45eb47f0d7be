#include <array>
#include <utility>

#include "log/unit.h"

namespace stopledger {
namespace {

/// Replacements for characters outside ASCII; the longest sequences come first.
constexpr std::array<std::pair<std::string_view, std::string_view>, 78> folds{{
    {"\xC3\x82\xC2\xB0", "deg"},  // degree sign, encoded twice
    {"\xC3\x82\xC2\xB2", "2"},
    {"\xC3\x82\xC2\xB5", "u"},
    {"\xEF\xBB\xBF", ""},
    {"\xE2\x80\x8B", ""},
    {"\xE2\x88\x92", "-"},
    {"\xE2\x80\x93", "-"},
    {"\xE2\x80\x94", "-"},
    {"\xE2\x80\xAF", " "},
    {"\xE2\x80\x89", " "},
    {"\xE2\x81\xBB\xC2\xB9", "-1"},
    {"\xE2\x81\xBB\xC2\xB2", "-2"},
    {"\xE2\x84\x83", "degc"},
    {"\xE2\x84\x89", "degf"},
    {"\xE2\x8B\x85", "*"},
    {"\xC2\xB0", "deg"},
    {"\xC2\xBA", "deg"},
    {"\xC2\xB2", "2"},
    {"\xC2\xB3", "3"},
    {"\xC2\xB9", "1"},
    {"\xC2\xB5", "u"},
    {"\xCE\xBC", "u"},
    {"\xC2\xB7", "*"},
    {"\xC2\xA0", " "},
    {"\xCE\xA9", "ohm"},
    {"\xCF\x89", "omega"},
    {"\xC3\xA4", "a"},
    {"\xC3\x84", "a"},
    {"\xC3\xB6", "o"},
    {"\xC3\x96", "o"},
    {"\xC3\xBC", "u"},
    {"\xC3\x9C", "u"},
    {"\xC3\x9F", "ss"},
    {"\xC3\xA0", "a"},
    {"\xC3\xA1", "a"},
    {"\xC3\xA2", "a"},
    {"\xC3\xA3", "a"},
    {"\xC3\xA5", "a"},
    {"\xC3\x85", "a"},
    {"\xC3\xA6", "ae"},
    {"\xC3\xA7", "c"},
    {"\xC3\xA8", "e"},
    {"\xC3\xA9", "e"},
    {"\xC3\xAA", "e"},
    {"\xC3\xAB", "e"},
    {"\xC3\x88", "e"},
    {"\xC3\x89", "e"},
    {"\xC3\x8A", "e"},
    {"\xC3\xAC", "i"},
    {"\xC3\xAD", "i"},
    {"\xC3\xAE", "i"},
    {"\xC3\xAF", "i"},
    {"\xC3\xB1", "n"},
    {"\xC3\xB2", "o"},
    {"\xC3\xB3", "o"},
    {"\xC3\xB4", "o"},
    {"\xC3\xB5", "o"},
    {"\xC3\xB8", "o"},
    {"\xC3\xB9", "u"},
    {"\xC3\xBA", "u"},
    {"\xC3\xBB", "u"},
    {"\xC4\x85", "a"},
    {"\xC4\x87", "c"},
    {"\xC4\x8D", "c"},
    {"\xC4\x99", "e"},
    {"\xC4\x9B", "e"},
    {"\xC5\x82", "l"},
    {"\xC5\x84", "n"},
    {"\xC5\x99", "r"},
    {"\xC5\x9B", "s"},
    {"\xC5\xA1", "s"},
    {"\xC5\xBA", "z"},
    {"\xC5\xBC", "z"},
    {"\xC5\xBE", "z"},
    {"\xC3\x80", "a"},
    {"\xC3\x81", "a"},
    {"\xC3\x93", "o"},
    {"\xC3\x94", "o"},
}};

}  // namespace

std::string fold_text(std::string_view utf8) {
  std::string out;
  out.reserve(utf8.size());
  for (std::size_t i = 0; i < utf8.size();) {
    const auto c = static_cast<unsigned char>(utf8[i]);
    if (c < 0x80) {
      out += static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
      ++i;
      continue;
    }
    bool found = false;
    for (const auto& [from, to] : folds)
      if (utf8.substr(i, from.size()) == from) {
        out += to;
        i += from.size();
        found = true;
        break;
      }
    if (!found) out += utf8[i++];
  }
  return out;
}

}  // namespace stopledger
