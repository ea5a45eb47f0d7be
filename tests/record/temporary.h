#pragma once

#include <unistd.h>

#include <filesystem>
#include <string>

/// A folder of its own for one test, gone afterwards. Its name has a space and an umlaut, so that
/// every test also meets such a path.
class Temporary {
 public:
  Temporary() {
    static int count = 0;
    folder_ =
        std::filesystem::temp_directory_path() /
        ("stopledger t\xC3\xA4st " + std::to_string(getpid()) + "-" + std::to_string(count++));
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
  }
  ~Temporary() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  Temporary(const Temporary&) = delete;
  Temporary& operator=(const Temporary&) = delete;
  [[nodiscard]] std::string file(const std::string& name) const { return folder_ / name; }

 private:
  std::filesystem::path folder_;
};
