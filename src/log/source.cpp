#include "log/source.h"

#include <nettle/sha2.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <system_error>

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
  explicit FileSource(const std::string& path) : path_(path) {
    if (path == "-") {
      file_ = stdin;
      return;
    }
    std::error_code failed;
    if (std::filesystem::is_directory(path, failed))
      throw Error(ErrorKind::file, {path}, "is a folder; give the log file in it");
    file_ = std::fopen(path.c_str(), "rb");
    if (file_ == nullptr)
      throw Error(ErrorKind::file, {path},
                  std::string("cannot be opened: ") + std::strerror(errno));
    const auto size = std::filesystem::file_size(path, failed);
    if (!failed) size_ = static_cast<double>(size);
  }
  FileSource(const FileSource&) = delete;
  FileSource& operator=(const FileSource&) = delete;
  ~FileSource() override {
    if (file_ != nullptr && file_ != stdin) std::fclose(file_);
  }

  bool read(std::string& out, std::size_t most) override {
    const std::size_t before = out.size();
    out.resize(before + most);
    const std::size_t n = std::fread(out.data() + before, 1, most, file_);
    out.resize(before + n);
    if (n < most && std::ferror(file_) != 0)
      throw Error(ErrorKind::file, {path_}, "cannot be read: " + std::string(std::strerror(errno)));
    hasher_.add(std::string_view(out).substr(before));
    done_ += static_cast<double>(n);
    return n > 0;
  }
  std::string sha256() override { return hasher_.hex(); }
  [[nodiscard]] double progress() const override { return size_ > 0.0 ? done_ / size_ : 0.0; }

 private:
  std::string path_;
  std::FILE* file_ = nullptr;
  double size_ = 0.0, done_ = 0.0;
  Hasher hasher_;
};

class MemorySource : public Source {
 public:
  explicit MemorySource(std::string_view bytes) : bytes_(bytes) { hasher_.add(bytes); }
  bool read(std::string& out, std::size_t most) override {
    const auto piece = bytes_.substr(at_, most);
    out += piece;
    at_ += piece.size();
    return !piece.empty();
  }
  std::string sha256() override { return hasher_.hex(); }
  [[nodiscard]] double progress() const override {
    return bytes_.empty() ? 1.0 : static_cast<double>(at_) / static_cast<double>(bytes_.size());
  }

 private:
  std::string_view bytes_;
  std::size_t at_ = 0;
  Hasher hasher_;
};

}  // namespace

std::unique_ptr<Source> open_source(const std::string& path) {
  return std::make_unique<FileSource>(path);
}

std::unique_ptr<Source> memory_source(std::string_view bytes) {
  return std::make_unique<MemorySource>(bytes);
}

}  // namespace stopledger
