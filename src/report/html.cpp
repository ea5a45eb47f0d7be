#include "report/html.h"

namespace stopledger {

std::string html_text(std::string_view text) {
  std::string result;
  for (const char c : text) switch (c) {
      case '&':
        result += "&amp;";
        break;
      case '<':
        result += "&lt;";
        break;
      case '>':
        result += "&gt;";
        break;
      case '"':
        result += "&quot;";
        break;
      case '\'':
        result += "&#39;";
        break;
      default:
        result += c;
    }
  return result;
}

}  // namespace stopledger
