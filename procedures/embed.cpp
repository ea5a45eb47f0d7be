// Writes OUTPUT, a C++ file that holds each of FILES (names relative to SOURCE) as text and, but
// for the cautions, packed as well: the program carries its procedure library with it.
//   embed_procedures SOURCE OUTPUT FILE...
#include <cstdio>
#include <fstream>
#include <iostream>
#include <iterator>
#include <sstream>

#include "base/error.h"
#include "procedure/packed.h"
#include "procedure/reader.h"

namespace {

using namespace stopledger;

/// Byte by byte, because string literals have a length limit and raw ones an end marker.
std::string array(const std::string& name, const std::string& bytes) {
  std::string out = "constexpr char " + name + "[] = {";
  for (const char c : bytes) out += std::to_string(static_cast<int>(c)) + ",";
  return out + "0};\n";
}

std::string read_whole(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  if (!in) throw Error(ErrorKind::file, {path}, "cannot be read");
  return text.str();
}

void write(const std::string& source, const std::string& output, int count, char** files) {
  std::string arrays, rows;
  for (int i = 0; i < count; ++i) {
    const std::string file = files[i], number = std::to_string(i);
    const auto text = read_whole(source + "/" + file);
    const bool is_procedure = !file.ends_with("/cautions.toml");
    const auto packed = is_procedure ? pack(read_procedure(text, file)) : std::string();
    arrays += array("text" + number, text) + array("packed" + number, packed);
    rows += "    {\"" + file + "\", {text" + number + ", " + std::to_string(text.size()) +
            "}, {packed" + number + ", " + std::to_string(packed.size()) + "}},\n";
  }
  std::ofstream out(output, std::ios::binary);
  out << "// Written by procedures/embed.cpp.\n#include \"procedure/library.h\"\n\n"
         "namespace stopledger {\nnamespace {\n"
      << arrays << "constexpr LibraryFile files[] = {\n"
      << rows
      << "};\n}  // namespace\n\n"
         "std::span<const LibraryFile> library_files() { return files; }\n\n"
         "}  // namespace stopledger\n";
  if (!out.flush()) throw Error(ErrorKind::file, {output}, "cannot be written");
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::cerr << "embed_procedures SOURCE OUTPUT FILE...\n";
    return 2;
  }
  try {
    write(argv[1], argv[2], argc - 3, argv + 3);
  } catch (const Error& error) {
    std::remove(argv[2]);
    std::cerr << error.what() << "\n";
    return 2;
  }
  return 0;
}
