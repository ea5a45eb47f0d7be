#include "log/source.h"

#include <fcntl.h>
#include <nettle/sha2.h>
#include <unistd.h>
#include <zlib.h>
#include <zstd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <new>
#include <span>
#include <system_error>
#include <vector>

#include "base/error.h"

namespace stopledger {
namespace {

class Hasher {
 public:
  Hasher() { sha256_init(&context_); }
  void add(std::string_view bytes) {
    sha256_update(&context_, bytes.size(), reinterpret_cast<const std::uint8_t*>(bytes.data()));
  }
  std::string hex() {
    std::uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(&context_, sizeof digest, digest);
    std::string text;
    for (const auto byte : digest) {
      text += "0123456789abcdef"[byte >> 4];
      text += "0123456789abcdef"[byte & 15];
    }
    return text;
  }

 private:
  sha256_ctx context_{};
};

class FileSource : public Source {
 public:
  FileSource(const std::string& path, bool hash) : path_(path), hash_(hash) {
    if (path == "-") return;
    std::error_code failed;
    if (std::filesystem::is_directory(path, failed))
      throw Error(ErrorKind::file, {path}, "is a folder; give the log file in it");
    file_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    if (file_ < 0)
      throw Error(ErrorKind::file, {path},
                  std::string("cannot be opened: ") + std::strerror(errno));
    const auto size = std::filesystem::file_size(path, failed);
    if (!failed) size_ = static_cast<double>(size);
  }
  FileSource(const FileSource&) = delete;
  FileSource& operator=(const FileSource&) = delete;
  ~FileSource() override {
    if (file_ != STDIN_FILENO) ::close(file_);
  }

  std::size_t read(std::span<char> out) override {
    ssize_t n = 0;
    do n = ::read(file_, out.data(), out.size());
    while (n < 0 && errno == EINTR);
    if (n < 0)
      throw Error(ErrorKind::file, {path_}, std::string("cannot be read: ") + std::strerror(errno));
    const auto count = static_cast<std::size_t>(n);
    if (hash_) hasher_.add({out.data(), count});
    done_ += static_cast<double>(count);
    return count;
  }
  std::string sha256() override {
    if (!hash_) return "";
    std::vector<char> rest(std::size_t{1} << 16U);
    while (read(rest) > 0) {
    }
    return hasher_.hex();
  }
  [[nodiscard]] double progress() const override { return size_ > 0.0 ? done_ / size_ : 0.0; }

 private:
  std::string path_;
  int file_ = STDIN_FILENO;
  double size_ = 0.0, done_ = 0.0;
  bool hash_;
  Hasher hasher_;
};

class MemorySource : public Source {
 public:
  MemorySource(std::string_view bytes, bool hash) : bytes_(bytes), hash_(hash) {}
  std::size_t read(std::span<char> out) override {
    const auto piece = bytes_.substr(at_, out.size());
    std::copy(piece.begin(), piece.end(), out.begin());
    at_ += piece.size();
    return piece.size();
  }
  std::string sha256() override {
    if (!hash_) return "";
    Hasher hasher;
    hasher.add(bytes_);
    return hasher.hex();
  }
  [[nodiscard]] double progress() const override {
    return bytes_.empty() ? 1.0 : static_cast<double>(at_) / static_cast<double>(bytes_.size());
  }

 private:
  std::string_view bytes_;
  bool hash_;
  std::size_t at_ = 0;
};

/// Bytes of a packed source, piece by piece, for the unpackers.
class PackedInput {
 public:
  PackedInput(std::unique_ptr<Source> source, std::string name)
      : source_(std::move(source)), name_(std::move(name)) {}

  /// The bytes not yet taken; fetches more when there are fewer than `least`.
  std::string_view peek(std::size_t least = 1) {
    while (bytes_.size() - at_ < least && more_) {
      bytes_.erase(0, at_);
      at_ = 0;
      const std::size_t before = bytes_.size();
      bytes_.resize(before + (std::size_t{1} << 16U));
      const std::size_t n = source_->read(std::span(bytes_).subspan(before));
      bytes_.resize(before + n);
      more_ = n > 0;
    }
    return std::string_view(bytes_).substr(at_);
  }
  void take(std::size_t n) { at_ += n; }
  /// True when all that was fetched is taken.
  [[nodiscard]] bool peeked_all() const { return at_ == bytes_.size(); }
  [[noreturn]] void damaged(const char* kind) const {
    throw Error(ErrorKind::input, {name_},
                std::string("the ") + kind +
                    " data is damaged or cut short; unpack what can be "
                    "saved, or copy the file again from the recorder");
  }
  Source& source() { return *source_; }
  [[nodiscard]] const Source& source() const { return *source_; }
  [[nodiscard]] const std::string& name() const { return name_; }

 private:
  std::unique_ptr<Source> source_;
  std::string name_;
  std::string bytes_;
  std::size_t at_ = 0;
  bool more_ = true;
};

class GzipStream {
 public:
  GzipStream() { start(); }
  GzipStream(const GzipStream&) = delete;
  GzipStream& operator=(const GzipStream&) = delete;
  ~GzipStream() { inflateEnd(&stream_); }

  /// One step from `in` into `out`; bytes used and made are set; true while a member is open.
  bool step(std::string_view in, std::span<char> out, std::size_t& used, std::size_t& made,
            bool& broken) {
    if (!open_) {
      inflateReset(&stream_);
      open_ = true;
    }
    // zlib does not write through next_in, its interface only says so.
    stream_.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(in.data()));
    stream_.avail_in = static_cast<uInt>(in.size());
    stream_.next_out = reinterpret_cast<Bytef*>(out.data());
    stream_.avail_out = static_cast<uInt>(out.size());
    const int result = inflate(&stream_, Z_NO_FLUSH);
    used = in.size() - stream_.avail_in;
    made = out.size() - stream_.avail_out;
    broken = result != Z_OK && result != Z_STREAM_END && result != Z_BUF_ERROR;
    if (result == Z_STREAM_END) open_ = false;
    return open_;
  }
  [[nodiscard]] bool open() const { return open_; }

 private:
  void start() {
    constexpr int gzip_window = 15 + 16;
    if (inflateInit2(&stream_, gzip_window) != Z_OK) throw std::bad_alloc();
  }
  z_stream stream_{};
  bool open_ = true;
};

class ZstdStream {
 public:
  ZstdStream() : stream_(ZSTD_createDStream()) {
    if (stream_ == nullptr) throw std::bad_alloc();
    // Frames that want more than 32 MiB of window are refused: memory stays bounded.
    ZSTD_DCtx_setParameter(stream_, ZSTD_d_windowLogMax, 25);
  }
  ZstdStream(const ZstdStream&) = delete;
  ZstdStream& operator=(const ZstdStream&) = delete;
  ~ZstdStream() { ZSTD_freeDStream(stream_); }

  bool step(std::string_view in, std::span<char> out, std::size_t& used, std::size_t& made,
            bool& broken) {
    ZSTD_inBuffer input{in.data(), in.size(), 0};
    ZSTD_outBuffer output{out.data(), out.size(), 0};
    const auto result = ZSTD_decompressStream(stream_, &output, &input);
    used = input.pos;
    made = output.pos;
    broken = ZSTD_isError(result) != 0;
    open_ = result != 0;
    return open_;
  }
  [[nodiscard]] bool open() const { return open_; }

 private:
  ZSTD_DStream* stream_;
  bool open_ = true;
};

template <typename Stream>
class UnpackedSource : public Source {
 public:
  UnpackedSource(PackedInput input, const char* kind) : input_(std::move(input)), kind_(kind) {}

  std::size_t read(std::span<char> out) override {
    for (;;) {
      const auto in = input_.peek();
      if (in.empty() && !stream_.open()) return 0;
      std::size_t used = 0, made = 0;
      bool broken = false;
      stream_.step(in, out, used, made, broken);
      if (broken || (in.empty() && made == 0)) input_.damaged(kind_);
      input_.take(used);
      if (made > 0) return made;
    }
  }
  std::string sha256() override { return input_.source().sha256(); }
  [[nodiscard]] double progress() const override { return input_.source().progress(); }

 private:
  PackedInput input_;
  const char* kind_;
  Stream stream_;
};

/// A plain source whose first bytes were looked at.
class PlainSource : public Source {
 public:
  explicit PlainSource(PackedInput input) : input_(std::move(input)) {}
  std::size_t read(std::span<char> out) override {
    if (looked_at_) return input_.source().read(out);
    const auto peeked = input_.peek().substr(0, out.size());
    std::copy(peeked.begin(), peeked.end(), out.begin());
    input_.take(peeked.size());
    looked_at_ = input_.peeked_all();
    return peeked.size();
  }
  std::string sha256() override { return input_.source().sha256(); }
  [[nodiscard]] double progress() const override { return input_.source().progress(); }

 private:
  PackedInput input_;
  bool looked_at_ = false;
};

}  // namespace

std::unique_ptr<Source> unpacked(std::unique_ptr<Source> packed, const std::string& name) {
  PackedInput input(std::move(packed), name);
  const auto first = input.peek(4).substr(0, 4);
  if (first.starts_with("\x1F\x8B"))
    return std::make_unique<UnpackedSource<GzipStream>>(std::move(input), "gzip");
  if (first == "\x28\xB5\x2F\xFD")
    return std::make_unique<UnpackedSource<ZstdStream>>(std::move(input), "Zstandard");
  if (first == "PK\x03\x04")
    throw Error(
        ErrorKind::input, {name},
        "is a zip archive or a spreadsheet; unpack it, or save the sheet as delimited text");
  if (first.starts_with("BZh") ||
      first ==
          "\xFD"
          "7zX" ||
      first == "7z\xBC\xAF")
    throw Error(
        ErrorKind::input, {name},
        "is packed in a way that is not read here (gzip and Zstandard are); unpack it first");
  return std::make_unique<PlainSource>(std::move(input));
}

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

std::unique_ptr<Source> open_source(const std::string& path, bool hash) {
  return std::make_unique<FileSource>(path, hash);
}

std::unique_ptr<Source> memory_source(std::string_view bytes, bool hash) {
  return std::make_unique<MemorySource>(bytes, hash);
}

}  // namespace stopledger
