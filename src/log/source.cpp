#include "log/source.h"

#include <fcntl.h>
#include <nettle/sha2.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
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
    if (!failed) size_ = size;
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
  [[nodiscard]] double progress() const override {
    return size_ > 0 ? done_ / static_cast<double>(size_) : 0.0;
  }

 private:
  std::string path_;
  int file_ = STDIN_FILENO;
  std::size_t size_ = 0;
  double done_ = 0.0;
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

}  // namespace

std::unique_ptr<Source> open_source(const std::string& path, bool hash) {
  return std::make_unique<FileSource>(path, hash);
}

std::unique_ptr<Source> memory_source(std::string_view bytes, bool hash) {
  return std::make_unique<MemorySource>(bytes, hash);
}

}  // namespace stopledger
