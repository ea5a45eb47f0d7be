#include "record/contradiction.h"

#include <fmt/format.h>

#include <array>

namespace stopledger {

namespace {

constexpr std::array<std::pair<const char*, const char*>, 4> corner_fields{
    {{"fl", "FL"}, {"fr", "FR"}, {"rl", "RL"}, {"rr", "RR"}}};

std::string as_written(const Record& record, const std::string& field) {
  const auto found = record.fields.find(field);
  return found == record.fields.end() ? std::string() : found->second.written;
}

}  // namespace

std::string failing_corner(const Record& record) {
  const bool valves = record.kind == "valve-test";
  if (!valves && record.kind != "pressure-test") return {};
  for (const auto& [prefix, corner] : corner_fields)
    for (const std::string_view point : {"free", "lock", "hold", "release"}) {
      if (!valves && point != "free") continue;
      for (const auto& [name, value] : record.fields)
        if (value.written == "no" && name.size() == 3 + point.size() && name.starts_with(prefix) &&
            name[2] == '.' && name.ends_with(point))
          return fmt::format("{}: {} no", corner, point);
    }
  return {};
}

std::string contradiction(const Record& record) {
  const auto result = as_written(record, "result");
  if (result == "pass")
    if (const auto corner = failing_corner(record); !corner.empty())
      return fmt::format("result pass, but {}: with a corner not in order the result is fail",
                         corner);
  if (record.kind != "exercise" || result == "suspect") return {};
  std::size_t given = 0, exercised = 0;
  for (const auto& [prefix, corner] : corner_fields) {
    const auto one = as_written(record, prefix);
    if (one == "suspect")
      return fmt::format("result {}, but {} suspect: with a corner suspect the result is suspect",
                         result, corner);
    given += one.empty() ? 0 : 1;
    exercised += one == "exercised" ? 1 : 0;
  }
  if (result == "exercised" && given > 0 && exercised == 0 &&
      as_written(record, "pump") != "exercised")
    return "result exercised, but no corner is: the result is that of the corners asked for";
  return {};
}

}  // namespace stopledger
