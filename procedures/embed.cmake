# Writes OUTPUT, a C++ file that holds the text of each of FILES (names relative to SOURCE), so that
# the program carries its procedure library with it.
#   cmake -DSOURCE=DIR -DFILES="a.toml;b.toml" -DOUTPUT=FILE -P embed.cmake
set(rows "")
foreach(file IN LISTS FILES)
  # Byte by byte, because string literals have a length limit and raw ones an end marker.
  file(READ "${SOURCE}/${file}" bytes HEX)
  string(LENGTH "${bytes}" digits)
  math(EXPR size "${digits} / 2")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "'\\\\x\\1'," bytes "${bytes}")
  string(MAKE_C_IDENTIFIER "${file}" name)
  string(APPEND arrays "constexpr char ${name}[] = {${bytes}'\\0'};\n")
  string(APPEND rows "    {\"${file}\", {${name}, ${size}}},\n")
endforeach()
file(WRITE "${OUTPUT}.new" "// Written by procedures/embed.cmake.
#include \"procedure/library.h\"

namespace stopledger {
namespace {
${arrays}
constexpr LibraryFile files[] = {
${rows}};
}  // namespace

std::span<const LibraryFile> library_files() { return files; }

}  // namespace stopledger
")
file(COPY_FILE "${OUTPUT}.new" "${OUTPUT}" ONLY_IF_DIFFERENT)
file(REMOVE "${OUTPUT}.new")
