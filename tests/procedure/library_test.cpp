#include "procedure/library.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <set>

#include "base/error.h"
#include "procedure/packed.h"
#include "procedure/reader.h"

using namespace stopledger;
namespace fs = std::filesystem;

namespace {

/// A folder that is there for one test.
struct Folder {
  fs::path path =
      fs::temp_directory_path() / ("stopledger own procedures " + std::to_string(getpid()));
  Folder() {
    fs::remove_all(path);
    fs::create_directory(path);
  }
  ~Folder() { fs::remove_all(path); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(path / name) << text;
  }
};

std::string procedure_text(const std::string& id) {
  return "format = 1\nid = \"" + id +
         "\"\nname = \"My own\"\npurpose = \"Mine.\"\nrecord = \"note\"\nsources = [\"me\"]\n"
         "[[step]]\ndo = \"Look.\"\n";
}

}  // namespace

TEST_CASE("the program carries each file of procedures/ and no other", "[procedure][library]") {
  std::set<std::string> carried, on_disk;
  for (const auto& file : library_files()) carried.emplace(file.name);
  for (const auto& entry : fs::directory_iterator(fs::path(STOPLEDGER_SOURCE_DIR) / "procedures"))
    if (entry.path().extension() == ".toml")
      on_disk.insert("procedures/" + entry.path().filename().string());
  CHECK(carried == on_disk);
}

TEST_CASE("a library procedure's id is its file name", "[procedure][library]") {
  for (const auto& p : load_procedures()) {
    CHECK(p.file == "procedures/" + p.id + ".toml");
    CHECK_FALSE(p.overrides_library);
  }
}

TEST_CASE("what the build packed of a library file is what the file says", "[procedure][library]") {
  for (const auto& file : library_files()) {
    INFO(file.name);
    if (file.packed.empty())
      CHECK(file.name == "procedures/cautions.toml");
    else
      CHECK(unpack(file.packed) == read_procedure(file.text, std::string(file.name)));
  }
}

TEST_CASE("there are 22 cautions and each can be found", "[procedure][library]") {
  CHECK(cautions().size() == 22);
  CHECK_THAT(caution_text("C5"), Catch::Contains("public road"));
  CHECK_THROWS_AS(caution_text("C23"), Error);
}

TEST_CASE("an unknown id is told which ids there are", "[procedure][library]") {
  CHECK(find_procedure("stop-fronts").id == "stop-fronts");
  CHECK_THROWS_WITH(find_procedure("stop-middles"), Catch::Contains("stop-rears"));
}

TEST_CASE("a person's own file replaces the library's and says so", "[procedure][library]") {
  const Folder own;
  own.write("a.toml", procedure_text("stop-fronts"));
  own.write("b.toml", procedure_text("club-check"));
  own.write("notes.txt", "no procedure");
  const auto all = load_procedures(own.path.string());
  const auto* fronts = look_up(all, "stop-fronts");
  REQUIRE(fronts != nullptr);
  CHECK(fronts->name == "My own");
  CHECK(fronts->overrides_library);
  const auto* club = look_up(all, "club-check");
  REQUIRE(club != nullptr);
  CHECK_FALSE(club->overrides_library);
  CHECK(all.size() == load_procedures().size() + 1);
  CHECK(find_procedure("stop-fronts", own.path.string()).name == "My own");
}

TEST_CASE("two own files with one id, and no folder, are errors", "[procedure][library]") {
  const Folder own;
  own.write("a.toml", procedure_text("club-check"));
  own.write("b.toml", procedure_text("club-check"));
  CHECK_THROWS_WITH(load_procedures(own.path.string()), Catch::Contains("is taken by"));
  CHECK_THROWS_WITH(load_procedures("/nowhere/at/all"), Catch::Contains("--procedures"));
}
