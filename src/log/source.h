#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "log/text.h"

namespace stopledger {

/// The bytes of one log in pieces; hashes what it reads.
class Source {
 public:
  virtual ~Source() = default;
  /// Fills the front of `out` (not empty) with the next bytes; 0 when there are no more.
  virtual std::size_t read(std::span<char> out) = 0;
  /// SHA-256 of the stored bytes, lower-case hex; reads what is left of them.
  virtual std::string sha256() = 0;
  /// Share of the stored bytes read so far, 0 to 1; 0 when the length is not known.
  [[nodiscard]] virtual double progress() const = 0;
};

/// Opens a file, or standard input for "-". Errors: Error(file) naming it and what to do.
/// `hash`: whether sha256() is wanted; "" otherwise.
std::unique_ptr<Source> open_source(const std::string& path, bool hash);

/// The same for bytes in memory, which must outlive the source.
std::unique_ptr<Source> memory_source(std::string_view bytes, bool hash);

/// Unpacks gzip and Zstandard, known by their first bytes; other bytes pass unchanged.
/// Errors, while reading: Error(input) for damaged or cut-off data, a zip archive or a spreadsheet.
std::unique_ptr<Source> unpacked(std::unique_ptr<Source> packed, const std::string& name);

/// The text of a source in UTF-8 without byte-order mark, in pieces.
class TextStream {
 public:
  explicit TextStream(Source& source) : source_(source) {}

  /// Fills the front of `out` with the next text; 0 when there is no more. The encoding is decided
  /// from the first 64 KiB.
  std::size_t read(std::span<char> out);
  [[nodiscard]] Encoding encoding() const { return encoding_.value_or(Encoding::utf8); }
  /// Share of the source read so far, as Source::progress.
  [[nodiscard]] double progress() const { return source_.progress(); }

 private:
  void start();
  /// Appends the next bytes of the source to `bytes_`; false at the end.
  bool fetch();

  Source& source_;
  std::optional<Encoding> encoding_;
  std::string bytes_;  // as stored; half a character is carried from piece to piece
  std::string text_;   // turned, not yet handed out
  std::size_t handed_out_ = 0;
};

}  // namespace stopledger
