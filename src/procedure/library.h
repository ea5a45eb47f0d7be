#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "procedure/procedure.h"

namespace stopledger {

/// One file of procedures/ as the build put it into the program.
struct LibraryFile {
  std::string_view name;  ///< "procedures/stop-fronts.toml"
  std::string_view text;
  std::string_view packed;  ///< the same for `unpack`; empty for the cautions
};

/// All files of the library, cautions.toml included.
std::span<const LibraryFile> library_files();

/// The library's procedures, with those of a person's own folder in place of the library's of the
/// same id (`overrides_library` is set on them) or added to them. Sorted by id.
///
/// Errors: input, with file, line and key, for a file that breaks the format; file, for a folder
/// that cannot be read.
std::vector<Procedure> load_procedures(const std::optional<std::string>& own_folder = {});

/// The procedure of that id in a loaded list; nothing when there is none.
const Procedure* look_up(std::span<const Procedure> procedures, std::string_view id);

/// The procedure of that id. Reads only the files it needs.
/// Errors: as load_procedures; usage, naming the ids there are, for an unknown id.
Procedure find_procedure(std::string_view id, const std::optional<std::string>& own_folder = {});

/// A caution of the shared list.
struct Caution {
  std::string id;  ///< "C4"
  std::string text;
};

/// C1 to C22, in that order.
const std::vector<Caution>& cautions();

/// Text of one caution. Errors: usage, for an unknown id.
const std::string& caution_text(std::string_view id);

}  // namespace stopledger
