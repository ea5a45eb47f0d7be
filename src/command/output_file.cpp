#include "command/output_file.h"

#include <filesystem>
#include <fstream>

#include "base/error.h"

namespace stopledger {

namespace fs = std::filesystem;

namespace {

bool same_file(const std::string& a, const std::string& b) {
  std::error_code unknown;
  return fs::equivalent(a, b, unknown) && !unknown;
}

bool is_database(const std::string& path) {
  constexpr std::string_view magic = "SQLite format 3";
  std::string head(magic.size(), '\0');
  std::ifstream file(path, std::ios::binary);
  file.read(head.data(), static_cast<std::streamsize>(head.size()));
  return file && head == magic;
}

}  // namespace

void write_output(const Context& context, const std::string& path, std::string_view text,
                  std::span<const std::string> inputs) {
  std::error_code unknown;
  if (fs::is_directory(path, unknown))
    throw Error(ErrorKind::usage, {path}, "is a folder; give a file name in it");
  // The file named as the ledger may still be empty.
  if (is_database(path) || (ledger_was_named(context) && same_file(path, ledger_path(context))))
    throw Error(ErrorKind::usage, {path},
                "is a ledger and is not written over; choose another name");
  for (const std::string& input : inputs)
    if (same_file(path, input))
      throw Error(ErrorKind::usage, {path},
                  "is the recording itself and is not written over; choose another name");
  const std::string beside = path + ".new";
  std::ofstream out(beside, std::ios::binary | std::ios::trunc);
  out << text;
  out.close();
  std::error_code failed;
  if (out) fs::rename(beside, path, failed);
  if (out && !failed) return;
  fs::remove(beside, unknown);
  throw Error(ErrorKind::file, {path},
              "cannot be written: check that the folder exists, may be written to and has room");
}

}  // namespace stopledger
