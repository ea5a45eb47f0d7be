#pragma once

#include <string>
#include <string_view>

namespace stopledger {

/// Text as it may stand in an HTML or SVG document, attribute values in either quotes included.
std::string html_text(std::string_view text);

}  // namespace stopledger
