#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <string_view>

namespace stopledger {

/// The bytes of one log, unpacked and in UTF-8, in pieces; hashes what it reads.
class Source {
 public:
  virtual ~Source() = default;
  /// Appends up to `most` more bytes of text to `out`; false when there is no more.
  virtual bool read(std::string& out, std::size_t most) = 0;
  /// SHA-256 of the stored bytes, lower-case hex; complete after the last read.
  virtual std::string sha256() = 0;
  /// Share of the stored bytes read so far, 0 to 1; 0 when the length is not known.
  [[nodiscard]] virtual double progress() const = 0;
};

/// Opens a file, or standard input for "-". Errors: Error(file) naming it and what to do.
std::unique_ptr<Source> open_source(const std::string& path);

/// The same for text in memory, which must outlive the source.
std::unique_ptr<Source> memory_source(std::string_view bytes);

}  // namespace stopledger
