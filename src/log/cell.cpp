#include "log/cell.h"

#include <fast_float/fast_float.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <unordered_map>

#include "log/number_form.h"
#include "log/unit.h"

namespace stopledger {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// "0x3F": a bit field, up to 32 bits.
std::optional<NumberCell> parse_hex(std::string_view text) {
  if (text.size() < 3 || text.size() > 10 || text[0] != '0' || (text[1] != 'x' && text[1] != 'X'))
    return std::nullopt;
  std::uint32_t bits = 0;
  const auto parsed = std::from_chars(text.data() + 2, text.data() + text.size(), bits, 16);
  if (parsed.ec != std::errc() || parsed.ptr != text.data() + text.size()) return std::nullopt;
  return NumberCell{static_cast<double>(bits), {}};
}

/// "-12.5" and the like, of at most 15 digits: both the digits as a whole number and the power of
/// ten are exact in a double, so their quotient is the correctly rounded value.
std::optional<double> parse_simple(std::string_view text, char decimal) {
  const bool negative = !text.empty() && text[0] == '-';
  if (negative) text.remove_prefix(1);
  if (text.empty() || text.size() > 16) return std::nullopt;
  std::int64_t digits = 0;
  std::size_t count = 0, decimals = 0;
  bool marked = false;
  for (const char c : text) {
    if (is_digit(c)) {
      digits = digits * 10 + (c - '0');
      ++count;
      decimals += marked ? 1 : 0;
    } else if (c == decimal && !marked) {
      marked = true;
    } else {
      return std::nullopt;
    }
  }
  if (count == 0 || count > 15) return std::nullopt;
  const double value = static_cast<double>(digits) / powers_of_ten[decimals];
  return negative ? -value : value;
}

/// Length of one thousands separator at the start of `text`, 0 when there is none.
std::size_t separator_length(std::string_view text, const NumberStyle& style) {
  if (text.empty()) return 0;
  const char c = text[0];
  if (c == ' ' || c == '\'') return 1;
  if ((c == ',' || c == '.') && c != style.decimal && c != style.delimiter) return 1;
  if (text.substr(0, 2) == "\xC2\xA0") return 2;      // no-break space
  if (text.substr(0, 3) == "\xE2\x80\xAF") return 3;  // narrow no-break space
  return 0;
}

bool three_digits_then_no_digit(std::string_view text) {
  return text.size() >= 3 && is_digit(text[0]) && is_digit(text[1]) && is_digit(text[2]) &&
         (text.size() == 3 || !is_digit(text[3]));
}

}  // namespace

std::string_view trim(std::string_view text) {
  const auto blank = [](char c) {
    return c == ' ' || c == '\t' || c == '\0' || c == '\r' || c == '\n';
  };
  for (;;) {
    if (!text.empty() && blank(text.front()))
      text.remove_prefix(1);
    else if (!text.empty() && blank(text.back()))
      text.remove_suffix(1);
    else if (text.substr(0, 2) == "\xC2\xA0")
      text.remove_prefix(2);
    else if (text.size() >= 2 && text.substr(text.size() - 2) == "\xC2\xA0")
      text.remove_suffix(2);
    else
      return text;
  }
}

bool is_missing(std::string_view cell) {
  const auto text = trim(cell);
  if (text.empty()) return true;
  if (text.size() > 14) return false;
  // None of the words below has a digit so early.
  if (is_digit(text[0]) || (text.size() > 1 && is_digit(text[1]))) return false;
  if (text.find_first_not_of("-?.*#_ ") == std::string_view::npos) return true;
  static const std::unordered_map<std::string, bool> words{
      {"n/a", true},     {"na", true},        {"#n/a", true},    {"nan", true},
      {"null", true},    {"none", true},      {"nil", true},     {"invalid", true},
      {"missing", true}, {"no data", true},   {"nodata", true},  {"not available", true},
      {"error", true},   {"err", true},       {"unknown", true}, {"undefined", true},
      {"inf", true},     {"-inf", true},      {"#value!", true}, {"#div/0!", true},
      {"k.a.", true},    {"n.a.", true},      {"n.v.", true},    {"-nan", true},
      {"#ref!", true},   {"no signal", true}, {"timeout", true}, {"infinity", true}};
  return words.contains(fold_text(text));
}

std::optional<NumberCell> parse_number(std::string_view cell, const NumberStyle& style) {
  const auto text = trim(cell);
  if (const auto value = parse_simple(text, style.decimal)) return NumberCell{*value, {}};
  if (const auto hex = parse_hex(text)) return hex;
  // At most this many characters of one number are looked at; no recorder writes more.
  char digits[64];
  std::size_t n = 0, i = 0;
  if (text.substr(0, 3) == "\xE2\x88\x92") {  // typographic minus
    digits[n++] = '-';
    i = 3;
  } else if (i < text.size() && (text[i] == '-' || text[i] == '+')) {
    if (text[i] == '-') digits[n++] = '-';
    ++i;
  }
  std::size_t whole = 0, fraction = 0;
  bool grouped = false;
  while (i < text.size() && n < sizeof digits - 8) {
    if (is_digit(text[i])) {
      digits[n++] = text[i++];
      ++whole;
      continue;
    }
    const auto skip = separator_length(text.substr(i), style);
    if (skip > 0 && whole > 0 && (grouped || whole <= 3) &&
        three_digits_then_no_digit(text.substr(i + skip))) {
      grouped = true;
      i += skip;
      continue;
    }
    break;
  }
  if (i < text.size() && text[i] == style.decimal && n < sizeof digits - 8) {
    digits[n++] = '.';
    ++i;
    while (i < text.size() && is_digit(text[i])) {
      if (n < sizeof digits - 8) digits[n++] = text[i];  // digits beyond that do not matter
      ++i;
      ++fraction;
    }
  }
  if (whole + fraction == 0 || (i < text.size() && is_digit(text[i]))) return std::nullopt;
  if (i + 1 < text.size() && (text[i] == 'e' || text[i] == 'E')) {
    std::size_t j = i + 1;
    if (text[j] == '-' || text[j] == '+') ++j;
    if (j < text.size() && is_digit(text[j])) {
      digits[n++] = 'e';
      if (text[i + 1] == '-') digits[n++] = '-';
      std::size_t kept = 0;
      for (i = j; i < text.size() && is_digit(text[i]); ++i)
        if (kept < 4) digits[n++] = text[i], ++kept;
    }
  }
  NumberCell number;
  const auto parsed = fast_float::from_chars(digits, digits + n, number.value);
  if (parsed.ec != std::errc() || !std::isfinite(number.value)) return std::nullopt;
  number.rest = trim(text.substr(i));
  return number;
}

}  // namespace stopledger
