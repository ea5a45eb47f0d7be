#include "base/error.h"

namespace stopledger {

namespace {

std::string with_place(const Place& place, const std::string& message) {
  if (place.file.empty()) return message;
  if (place.line == 0) return place.file + ": " + message;
  return place.file + ":" + std::to_string(place.line) + ": " + message;
}

}  // namespace

Error::Error(ErrorKind kind, Place place, const std::string& message)
    : std::runtime_error(with_place(place, message)), kind_(kind), place_(std::move(place)) {}

}  // namespace stopledger
