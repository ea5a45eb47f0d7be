#include "procedure/library.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "base/error.h"
#include "procedure/packed.h"
#include "procedure/reader.h"

namespace stopledger {
namespace {

constexpr std::string_view cautions_file = "procedures/cautions.toml";

/// The id of a library file is its name; a test holds the library to that.
std::string_view stem(std::string_view name) {
  name.remove_prefix(name.rfind('/') + 1);
  return name.substr(0, name.rfind('.'));
}

std::string read_whole(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(in), {}};
  if (!in && text.empty())
    throw Error(ErrorKind::file, {path.string()}, "cannot be read; check the name and its rights");
  return text;
}

std::vector<Procedure> read_own(const std::string& folder) {
  std::error_code failed;
  std::vector<std::filesystem::path> paths;
  for (std::filesystem::directory_iterator it(folder, failed), end; !failed && it != end;
       it.increment(failed))
    if (it->path().extension() == ".toml" && it->path().filename() != "cautions.toml")
      paths.push_back(it->path());
  if (failed)
    throw Error(ErrorKind::file, {folder},
                fmt::format("is no folder of procedures that can be read ({}); give --procedures "
                            "DIR or set STOPLEDGER_PROCEDURES",
                            failed.message()));
  std::sort(paths.begin(), paths.end());
  std::vector<Procedure> own;
  for (const auto& path : paths) {
    own.push_back(read_procedure(read_whole(path), path.string()));
    for (std::size_t i = 0; i + 1 < own.size(); ++i)
      if (own[i].id == own.back().id)
        throw Error(ErrorKind::input, {path.string()},
                    fmt::format("id: \"{}\" is taken by {} already", own[i].id, own[i].file));
  }
  return own;
}

}  // namespace

std::vector<Procedure> load_procedures(const std::optional<std::string>& own_folder) {
  std::vector<Procedure> all;
  if (own_folder) all = read_own(*own_folder);
  const std::size_t own_count = all.size();
  for (const auto& file : library_files()) {
    if (file.name == cautions_file) continue;
    const auto own = std::find_if(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(own_count),
                                  [&](const Procedure& p) { return p.id == stem(file.name); });
    if (own != all.begin() + static_cast<std::ptrdiff_t>(own_count))
      own->overrides_library = true;
    else
      all.push_back(unpack(file.packed));
  }
  std::sort(all.begin(), all.end(),
            [](const Procedure& a, const Procedure& b) { return a.id < b.id; });
  return all;
}

const Procedure* look_up(std::span<const Procedure> procedures, std::string_view id) {
  const auto found = std::find_if(procedures.begin(), procedures.end(),
                                  [&](const Procedure& p) { return p.id == id; });
  return found == procedures.end() ? nullptr : &*found;
}

Procedure find_procedure(std::string_view id, const std::optional<std::string>& own_folder) {
  if (!own_folder)
    for (const auto& file : library_files())
      if (file.name != cautions_file && stem(file.name) == id) return unpack(file.packed);
  const auto all = load_procedures(own_folder);
  if (const auto* found = look_up(all, id)) return *found;
  std::vector<std::string_view> ids;
  for (const auto& p : all) ids.push_back(p.id);
  throw Error(ErrorKind::usage,
              fmt::format("there is no procedure \"{}\"; there are: {}", id, fmt::join(ids, ", ")));
}

const std::vector<Caution>& cautions() {
  static const std::vector<Caution> list = [] {
    for (const auto& file : library_files())
      if (file.name == cautions_file) return read_cautions(file.text, std::string(file.name));
    return std::vector<Caution>{};
  }();
  return list;
}

const std::string& caution_text(std::string_view id) {
  for (const auto& caution : cautions())
    if (caution.id == id) return caution.text;
  throw Error(ErrorKind::usage,
              fmt::format("there is no caution \"{}\"; they are C1 to C{}", id, cautions().size()));
}

}  // namespace stopledger
