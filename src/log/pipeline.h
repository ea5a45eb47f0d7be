#pragma once

#include <functional>

#include "log/block.h"
#include "log/source.h"

namespace stopledger {

/// Reads text in pieces of whole records, types them on up to two threads and hands the blocks
/// over in file order, on the calling thread. Memory: a handful of pieces, whatever the length.
class Pipeline {
 public:
  /// `take` gets each block and whether to go on.
  using Take = std::function<bool(RowBlock& block)>;

  /// `begun`: text already read (without what came before the first record); `more`: whether the
  /// stream has more. Errors of the stream pass through; Error(input) for a line beyond 8 MB.
  static void run(TextStream& stream, std::string_view begun, bool more, const Typer& typer,
                  const std::string& name, unsigned threads, const Take& take);
};

}  // namespace stopledger
