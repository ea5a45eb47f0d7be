#pragma once

namespace stopledger {

/// Exit status of every command; stated in --help, the README and tests/cli.
enum class ExitCode {
  yes = 0,      ///< done, and the answer is yes
  no = 1,       ///< done, and the answer is no (a corner not exercised, something overdue, ...)
  unusable = 2  ///< the input or the command line could not be used; nothing was changed
};

}  // namespace stopledger
