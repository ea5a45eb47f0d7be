// From stored bytes to UTF-8, in pieces.
#include <algorithm>
#include <span>

#include "log/source.h"

namespace stopledger {

bool TextStream::fetch() {
  const std::size_t before = bytes_.size();
  bytes_.resize(before + (std::size_t{1} << 16U));
  const std::size_t n = source_.read(std::span(bytes_).subspan(before));
  bytes_.resize(before + n);
  return n > 0;
}

void TextStream::start() {
  while (bytes_.size() < (std::size_t{1} << 16U) && fetch()) {
  }
  encoding_ = detect_encoding(bytes_);
  const bool utf8 = *encoding_ == Encoding::utf8;
  const bool marked = utf8 ? bytes_.starts_with("\xEF\xBB\xBF")
                           : bytes_.starts_with("\xFF\xFE") || bytes_.starts_with("\xFE\xFF");
  if (marked) bytes_.erase(0, utf8 ? 3 : 2);
  if (utf8) text_ = std::move(bytes_);
}

std::size_t TextStream::read(std::span<char> out) {
  if (!encoding_) start();
  if (handed_out_ == text_.size()) {
    if (*encoding_ == Encoding::utf8) return source_.read(out);
    const bool more = fetch();
    if (!more && bytes_.empty()) return 0;
    // Whole characters only: a pair of surrogates has four bytes.
    std::size_t whole = bytes_.size();
    if (more && *encoding_ != Encoding::latin1) {
      whole -= whole % 2;
      const std::size_t high = *encoding_ == Encoding::utf16le ? 1 : 2;  // from the end
      if (whole >= 2 && (static_cast<unsigned char>(bytes_[whole - high]) & 0xFCU) == 0xD8U)
        whole -= 2;
    }
    text_ = to_utf8(std::string_view(bytes_).substr(0, whole), *encoding_);
    bytes_.erase(0, whole);
    handed_out_ = 0;
  }
  const auto piece = std::string_view(text_).substr(handed_out_, out.size());
  std::copy(piece.begin(), piece.end(), out.begin());
  handed_out_ += piece.size();
  return piece.size();
}

}  // namespace stopledger
