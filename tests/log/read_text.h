#pragma once

#include <catch2/catch.hpp>
#include <string>

#include "log/reader.h"

namespace stopledger_test {

/// The log written out in `content`, read with default options.
inline stopledger::Log read(const std::string& content) {
  return stopledger::read_log_text(content, "test.csv", {});
}

/// The channel of a role, which must be there.
inline const stopledger::Channel& channel(const stopledger::Log& log, const std::string& role) {
  const stopledger::Channel* found = log.find(stopledger::parse_role(role).value());
  INFO("role " << role);
  REQUIRE(found != nullptr);
  return *found;
}

}  // namespace stopledger_test
