#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <fstream>
#include <memory>
#include <ostream>
#include <sstream>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"

namespace stopledger {

namespace {

namespace fs = std::filesystem;

std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream bytes;
  if (!in || fs::is_directory(path)) throw Error(ErrorKind::file, {path}, "cannot be read");
  bytes << in.rdbuf();
  return bytes.str();
}

FileRole role_by_name(const std::string& name) {
  auto ending = fs::path(name).extension().string();
  for (auto& c : ending) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  for (const char* picture : {".jpg", ".jpeg", ".png", ".heic", ".webp", ".tif", ".tiff"})
    if (ending == picture) return FileRole::photograph;
  return FileRole::document;
}

constexpr std::array role_words{"log", "photograph", "document"};

}  // namespace

void add_files(CLI::App& app, Context& context) {
  struct Options {
    std::int64_t number = 0;
    std::vector<std::string> add;
    std::string out, who;
  };
  auto* command = app.add_subcommand(
      "files", "The logs, photographs and documents kept with a record: list, add, take out");
  const auto options = std::make_shared<Options>();
  command->add_option("number", options->number, "the record's number")->required();
  auto* add = command->add_option("--add", options->add, "FILE to keep with the record");
  command->add_option("--out", options->out, "write the kept files into this folder")
      ->excludes(add);
  command->add_option("--who", options->who, "who adds them (STOPLEDGER_WHO)");
  command->callback([options, &context] {
    auto ledger =
        open_ledger(context, options->add.empty() ? Ledger::Mode::read : Ledger::Mode::write);
    if (!options->add.empty()) {
      ledger.begin();
      for (const auto& path : options->add)
        ledger.attach(options->number,
                      {.name = fs::path(path).filename().string(),
                       .bytes = read_file(path),
                       .role = role_by_name(path),
                       .sha256 = {}},
                      stamp_of(context, options->who));
      ledger.commit();
    }
    const auto record = ledger.record(options->number);
    const auto files = ledger.files_of(record.id);
    if (files.empty())
      context.out << fmt::format("No files are kept with record #{}.\n", record.id);
    for (const auto& file : files) {
      context.out << fmt::format("{:<10}  {:>10} bytes  {}  {}\n",
                                 role_words[static_cast<std::size_t>(file.role)], file.bytes.size(),
                                 file.sha256, file.name);
      if (options->out.empty()) continue;
      fs::create_directories(options->out);
      // The name comes from a ledger that may be another person's: only its last part counts.
      const auto path = fs::path(options->out) / fs::path(file.name).filename();
      if (fs::exists(path))
        throw Error(ErrorKind::file, {path.string()}, "exists already; choose another folder");
      std::ofstream out(path, std::ios::binary);
      out << file.bytes;
      out.close();
      if (!out) throw Error(ErrorKind::file, {path.string()}, "could not be written (disk full?)");
    }
  });
}

}  // namespace stopledger
