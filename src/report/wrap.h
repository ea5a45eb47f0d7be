#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace stopledger {

/// Breaks text at blanks so that lines stay within `width` columns (counted in characters of
/// UTF-8); the first line starts with `first`, later ones with as many blanks. A longer word stands
/// alone. Ends with a newline.
std::string wrap(std::string_view first, std::string_view text, std::size_t width = 90);

/// The same at the end of `out`.
void wrap_to(std::string& out, std::string_view first, std::string_view text,
             std::size_t width = 90);

}  // namespace stopledger
