#include "log/text.h"

#include <algorithm>
#include <cstdint>

namespace stopledger {

std::string_view RecordSplitter::quoted_cell(std::size_t& at, bool& ok) {
  const std::size_t begin = at + 1;
  std::size_t i = begin;
  bool doubled = false;
  const std::size_t limit = std::min(text_.size(), begin + max_quoted_bytes);
  while (i < limit) {
    if (text_[i] != '"') {
      ++i;
    } else if (i + 1 < text_.size() && text_[i + 1] == '"') {
      doubled = true;
      i += 2;
    } else {
      break;
    }
  }
  ok = i < limit && text_[i] == '"';
  if (!ok) {
    cut_in_quotes_ = cut_in_quotes_ || i >= text_.size();
    return {};
  }
  auto inside = text_.substr(begin, i - begin);
  std::size_t end = i + 1;
  while (end < text_.size() && text_[end] != delimiter_ && text_[end] != '\n' && text_[end] != '\r')
    ++end;
  const auto after = text_.substr(i + 1, end - i - 1);
  at = end;
  const bool tail = after.find_first_not_of(" \t") != std::string_view::npos;
  if (!doubled && !tail) return inside;
  if (unescaped_used_ == unescaped_.size()) unescaped_.emplace_back();
  std::string& copy = unescaped_[unescaped_used_++];
  copy.clear();
  for (std::size_t k = 0; k < inside.size(); ++k) {
    copy += inside[k];
    if (inside[k] == '"') ++k;
  }
  if (tail) copy += after;
  return copy;
}

bool RecordSplitter::next(std::vector<std::string_view>& cells) {
  cells.clear();
  if (at_ >= text_.size()) return false;
  unescaped_used_ = 0;
  line_ = next_line_;
  std::size_t at = at_;
  for (;;) {
    std::string_view cell;
    bool quoted = false;
    if (at < text_.size() && text_[at] == '"') {
      const std::size_t before = at;
      cell = quoted_cell(at, quoted);
      next_line_ += static_cast<std::size_t>(
          std::count(text_.begin() + static_cast<std::ptrdiff_t>(before),
                     text_.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
    }
    if (!quoted) {
      const std::size_t begin = at;
      while (at < text_.size() && text_[at] != delimiter_ && text_[at] != '\n' && text_[at] != '\r')
        ++at;
      cell = text_.substr(begin, at - begin);
    }
    cells.push_back(cell);
    if (at >= text_.size()) break;
    const char c = text_[at++];
    if (c == delimiter_) continue;
    if (c == '\r' && at < text_.size() && text_[at] == '\n') ++at;
    ++next_line_;
    break;
  }
  at_ = at;
  return true;
}

std::size_t whole_records(std::string_view text, char delimiter) {
  // Without a quote every line is a record, which is nearly always so.
  if (text.find('"') == std::string_view::npos) {
    const auto lf = text.rfind('\n');
    if (lf != std::string_view::npos) return lf + 1;
    const auto cr = text.rfind('\r');
    // A CR in the last place may be half of a CRLF.
    if (cr == std::string_view::npos) return 0;
    if (cr + 1 < text.size()) return cr + 1;
    const auto earlier = cr == 0 ? std::string_view::npos : text.rfind('\r', cr - 1);
    return earlier == std::string_view::npos ? 0 : earlier + 1;
  }
  RecordSplitter splitter(text, delimiter);
  std::vector<std::string_view> cells;
  std::size_t whole = 0;
  // The last record may be cut anywhere, also inside quotes: it waits for more text.
  while (splitter.next(cells) && !splitter.cut_in_quotes())
    if (splitter.offset() < text.size()) whole = splitter.offset();
  return whole;
}

namespace {

void append_code_point(std::string& out, std::uint32_t code) {
  if (code < 0x80) {
    out += static_cast<char>(code);
  } else if (code < 0x800) {
    out += static_cast<char>(0xC0 | (code >> 6));
    out += static_cast<char>(0x80 | (code & 0x3F));
  } else if (code < 0x10000) {
    out += static_cast<char>(0xE0 | (code >> 12));
    out += static_cast<char>(0x80 | ((code >> 6) & 0x3F));
    out += static_cast<char>(0x80 | (code & 0x3F));
  } else {
    out += static_cast<char>(0xF0 | (code >> 18));
    out += static_cast<char>(0x80 | ((code >> 12) & 0x3F));
    out += static_cast<char>(0x80 | ((code >> 6) & 0x3F));
    out += static_cast<char>(0x80 | (code & 0x3F));
  }
}

}  // namespace

bool is_utf8(std::string_view bytes) {
  for (std::size_t i = 0; i < bytes.size();) {
    const auto c = static_cast<unsigned char>(bytes[i]);
    if (c < 0x80) {
      ++i;
      continue;
    }
    const std::size_t length = c >= 0xF0 && c < 0xF5   ? 4
                               : c >= 0xE0 && c < 0xF0 ? 3
                               : c >= 0xC2 && c < 0xE0 ? 2
                                                       : 0;
    if (length == 0) return false;
    for (std::size_t k = 1; k < length; ++k) {
      if (i + k >= bytes.size()) return true;
      if ((static_cast<unsigned char>(bytes[i + k]) & 0xC0) != 0x80) return false;
    }
    i += length;
  }
  return true;
}

Encoding detect_encoding(std::string_view bytes) {
  if (bytes.substr(0, 2) == "\xFF\xFE") return Encoding::utf16le;
  if (bytes.substr(0, 2) == "\xFE\xFF") return Encoding::utf16be;
  // Text of mostly Latin letters and digits in UTF-16 has a zero in nearly every second byte.
  const auto sample = bytes.substr(0, 4096);
  std::size_t even_zeros = 0, odd_zeros = 0;
  for (std::size_t i = 0; i < sample.size(); ++i)
    if (sample[i] == '\0') ++(i % 2 == 0 ? even_zeros : odd_zeros);
  const std::size_t pairs = sample.size() / 2;
  if (pairs >= 8 && odd_zeros > pairs * 8 / 10 && even_zeros < pairs / 10) return Encoding::utf16le;
  if (pairs >= 8 && even_zeros > pairs * 8 / 10 && odd_zeros < pairs / 10) return Encoding::utf16be;
  return is_utf8(bytes) ? Encoding::utf8 : Encoding::latin1;
}

std::string to_utf8(std::string_view bytes, Encoding encoding) {
  std::string out;
  switch (encoding) {
    case Encoding::utf8:
      return std::string(bytes);
    case Encoding::latin1:
      out.reserve(bytes.size() + bytes.size() / 16);
      for (const char c : bytes) append_code_point(out, static_cast<unsigned char>(c));
      return out;
    case Encoding::utf16le:
    case Encoding::utf16be:
      break;
  }
  const bool little = encoding == Encoding::utf16le;
  const auto unit = [&](std::size_t i) {
    const auto a = static_cast<unsigned char>(bytes[i]);
    const auto b = static_cast<unsigned char>(bytes[i + 1]);
    return static_cast<std::uint32_t>(little ? a | (b << 8) : (a << 8) | b);
  };
  out.reserve(bytes.size() / 2 + 16);
  std::size_t i = 0;
  for (; i + 1 < bytes.size(); i += 2) {
    std::uint32_t code = unit(i);
    if (code >= 0xD800 && code < 0xDC00 && i + 3 < bytes.size()) {
      const auto low = unit(i + 2);
      if (low >= 0xDC00 && low < 0xE000) {
        code = 0x10000 + ((code - 0xD800) << 10) + (low - 0xDC00);
        i += 2;
      }
    }
    if (code >= 0xD800 && code < 0xE000) code = 0xFFFD;
    append_code_point(out, code);
  }
  if (i < bytes.size()) append_code_point(out, 0xFFFD);
  return out;
}

}  // namespace stopledger
