#pragma once

#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "base/day.h"

namespace stopledger {

/// What is not known is null in a document, never 0 and never "".
template <typename T>
nlohmann::ordered_json or_null(const std::optional<T>& value) {
  return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
}

inline nlohmann::ordered_json or_null(const std::string& text) {
  return text.empty() ? nlohmann::ordered_json(nullptr) : nlohmann::ordered_json(text);
}

inline nlohmann::ordered_json or_null(const std::optional<Day>& day) {
  return day ? nlohmann::ordered_json(format_day(*day)) : nlohmann::ordered_json(nullptr);
}

/// The number of a record; 0 stands for none.
inline nlohmann::ordered_json number_or_null(std::int64_t id) {
  return id == 0 ? nlohmann::ordered_json(nullptr) : nlohmann::ordered_json(id);
}

}  // namespace stopledger
