#include "report/wrap.h"

namespace stopledger {
namespace {

/// First byte of a character in UTF-8.
bool starts(char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }

bool blank(char c) { return c == ' ' || c == '\n'; }

}  // namespace

void wrap_to(std::string& out, std::string_view first, std::string_view text, std::size_t width) {
  std::size_t indent = 0;
  for (const char c : first) indent += starts(c) ? 1 : 0;
  out += first;
  std::size_t at = indent;
  // Words that stand in a line as they stand in the text are put there together.
  std::size_t line = 0, line_end = 0;
  const auto put_line = [&] { out.append(text, line, line_end - line); };
  bool fresh = true;
  for (std::size_t from = 0; from < text.size();) {
    std::size_t to = from, columns = 0;
    for (; to < text.size() && !blank(text[to]); ++to) columns += starts(text[to]) ? 1 : 0;
    if (to > from) {
      if (fresh) {
        line = from;
      } else if (at + 1 + columns > width) {
        put_line();
        out += '\n';
        out.append(indent, ' ');
        at = indent;
        line = from;
      } else if (from != line_end + 1 || text[line_end] != ' ') {
        put_line();
        out += ' ';
        ++at;
        line = from;
      } else {
        ++at;
      }
      at += columns;
      line_end = to;
      fresh = false;
    }
    from = to + 1;
  }
  put_line();
  out += '\n';
}

std::string wrap(std::string_view first, std::string_view text, std::size_t width) {
  std::string out;
  wrap_to(out, first, text, width);
  return out;
}

}  // namespace stopledger
