#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "log/text.h"

namespace stopledger {

/// The bytes of one log in pieces; hashes what it reads.
class Source {
 public:
  virtual ~Source() = default;
  /// Appends up to about `most` more bytes to `out`; false when there is no more.
  virtual bool read(std::string& out, std::size_t most) = 0;
  /// SHA-256 of the stored bytes, lower-case hex; complete after the last read.
  virtual std::string sha256() = 0;
  /// Share of the stored bytes read so far, 0 to 1; 0 when the length is not known.
  [[nodiscard]] virtual double progress() const = 0;
};

/// Opens a file, or standard input for "-". Errors: Error(file) naming it and what to do.
std::unique_ptr<Source> open_source(const std::string& path);

/// The same for bytes in memory, which must outlive the source.
std::unique_ptr<Source> memory_source(std::string_view bytes);

/// Unpacks gzip and Zstandard, known by their first bytes; other bytes pass unchanged.
/// Errors, while reading: Error(input) for damaged or cut-off data, a zip archive or a spreadsheet.
std::unique_ptr<Source> unpacked(std::unique_ptr<Source> packed, const std::string& name);

/// The text of a source in UTF-8 without byte-order mark, in pieces.
class TextStream {
 public:
  explicit TextStream(Source& source) : source_(source) {}

  /// Appends the next piece, made from about `most` bytes; false when there is no more. The
  /// encoding is decided from the first piece.
  bool read(std::string& out, std::size_t most);
  [[nodiscard]] Encoding encoding() const { return encoding_.value_or(Encoding::utf8); }

 private:
  Source& source_;
  std::optional<Encoding> encoding_;
  std::string bytes_;  // carried from piece to piece: half a character
};

}  // namespace stopledger
