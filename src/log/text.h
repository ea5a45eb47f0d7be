#pragma once

#include <cstddef>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

namespace stopledger {

/// Splits delimited text into records by RFC 4180 with the usual liberties.
///
/// A quote opens a quoted cell only at the cell's start; text after the closing quote is kept. LF,
/// CRLF and CR end a record outside quotes. A quoted cell that does not end within
/// `max_quoted_bytes` is taken as plain text from its quote on, so that one stray quote cannot
/// swallow a file.
class RecordSplitter {
 public:
  /// Most characters of one quoted cell.
  static constexpr std::size_t max_quoted_bytes = 65536;

  /// `text` must outlive the splitter and the cells; `first_line` is the line number of its start.
  RecordSplitter(std::string_view text, char delimiter, std::size_t first_line = 1)
      : text_(text), delimiter_(delimiter), next_line_(first_line) {}

  /// The cells of the next record (valid until the call after); false at the end. A blank line is
  /// a record with one empty cell.
  bool next(std::vector<std::string_view>& cells);

  /// Line at which the last record began, 1-based.
  [[nodiscard]] std::size_t line() const { return line_; }
  /// Line after the last record.
  [[nodiscard]] std::size_t next_line() const { return next_line_; }
  /// Offset of the next record.
  [[nodiscard]] std::size_t offset() const { return at_; }
  /// True when the text ended inside quotes: with more text the last records may read otherwise.
  [[nodiscard]] bool cut_in_quotes() const { return cut_in_quotes_; }

 private:
  std::string_view quoted_cell(std::size_t& at, bool& ok);

  std::string_view text_;
  char delimiter_;
  std::size_t at_ = 0;
  std::size_t line_ = 0;
  std::size_t next_line_ = 1;
  std::deque<std::string> unescaped_;  // cells whose doubled quotes were undone
  std::size_t unescaped_used_ = 0;
  bool cut_in_quotes_ = false;
};

/// Most bytes of `text` that end at a record's end, 0 when no record ends in it.
std::size_t whole_records(std::string_view text, char delimiter);

/// How the bytes of a file spell characters.
enum class Encoding { utf8, utf16le, utf16be, latin1 };

/// Encoding by byte-order mark, by the zero bytes of UTF-16 without one, or by what is not UTF-8.
Encoding detect_encoding(std::string_view bytes);

/// Bytes to UTF-8; for UTF-16 an odd last byte and unpaired surrogates become U+FFFD.
std::string to_utf8(std::string_view bytes, Encoding encoding);

/// True when `bytes` are well-formed UTF-8, but for a sequence cut at the end.
bool is_utf8(std::string_view bytes);

}  // namespace stopledger
