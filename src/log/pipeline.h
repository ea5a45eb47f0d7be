#pragma once

#include <functional>

#include "log/block.h"
#include "log/source.h"

namespace stopledger {

/// Reads text in pieces of whole records, types them and hands the blocks over in file order, on
/// the calling thread. A second thread reads ahead (and so hashes) and types what is left to type.
/// Memory: a handful of pieces, whatever the length.
class Pipeline {
 public:
  /// `take` gets each block, and the share of the source read with it (0 to 1; 0: not known); it
  /// returns whether to go on.
  using Take = std::function<bool(RowBlock& block, double share)>;

  /// `begun`: text already read (without what came before the first record), which is not copied;
  /// `more`: whether the stream has more. Errors of the stream pass through once the blocks before
  /// them are taken; Error(input) for a line beyond 8 MB. The stream may be used again after the
  /// return.
  static void run(TextStream& stream, std::string_view begun, bool more, const Typer& typer,
                  const std::string& name, unsigned threads, const Take& take);
};

}  // namespace stopledger
