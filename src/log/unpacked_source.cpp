// Gzip and Zstandard, unpacked while they are read.
#include <zlib.h>
#include <zstd.h>

#include <algorithm>
#include <new>
#include <span>

#include "base/error.h"
#include "log/source.h"

namespace stopledger {
namespace {

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

}  // namespace stopledger
