#pragma once

#include <cstddef>
#include <stdexcept>
#include <string>

namespace stopledger {

/// What could not be used. All of them end in exit status 2.
enum class ErrorKind {
  usage,   ///< the command line
  input,   ///< a file's content (log, procedure, channel map, exchange file)
  file,    ///< a file that cannot be opened, read or written
  ledger,  ///< the ledger: busy, damaged, of another kind or version
  refused  ///< the job is understood and refused for safety; the message says what would clear it
};

/// Where: a file (or an option), and the line in it when known (1-based; 0 = no line).
struct Place {
  std::string file;
  std::size_t line = 0;
};

/// A job that cannot be done: kind, place, what is wrong and what to do about it.
///
/// `what()` reads "run.csv:41: message" or "run.csv: message" or "message".
class Error : public std::runtime_error {
 public:
  Error(ErrorKind kind, Place place, const std::string& message);
  Error(ErrorKind kind, const std::string& message) : Error(kind, Place{}, message) {}

  [[nodiscard]] ErrorKind kind() const { return kind_; }
  [[nodiscard]] const Place& place() const { return place_; }

 private:
  ErrorKind kind_;
  Place place_;
};

}  // namespace stopledger
