#include "base/result.h"

#include <algorithm>
#include <array>
#include <utility>

namespace stopledger {

namespace {

// Worst first: the order in which results combine.
constexpr std::array<std::pair<Result, std::string_view>, 5> results{
    {{Result::suspect, "suspect"},
     {Result::idle, "idle"},
     {Result::unseen, "unseen"},
     {Result::commanded, "commanded"},
     {Result::exercised, "exercised"}}};

}  // namespace

std::string_view result_name(Result result) {
  for (const auto& [value, name] : results)
    if (value == result) return name;
  return "unseen";
}

std::optional<Result> parse_result(std::string_view text) {
  for (const auto& [value, name] : results)
    if (name == text) return value;
  return std::nullopt;
}

Result worse(Result a, Result b) {
  for (const auto& [value, name] : results)
    if (value == a || value == b) return value;
  return a;
}

}  // namespace stopledger
