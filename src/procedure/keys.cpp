#include "procedure/keys.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/error.h"

namespace stopledger {

Keys::Keys(const toml::table& table, std::string file, std::string path)
    : table_(&table), file_(std::move(file)), path_(std::move(path)) {}

std::string Keys::full(std::string_view key) const {
  return path_.empty() ? std::string(key) : fmt::format("{}.{}", path_, key);
}

void Keys::fail(std::string_view key, const std::string& message) const {
  const toml::node* node = table_->get(key);
  const auto line = (node != nullptr ? node->source() : table_->source()).begin.line;
  throw Error(ErrorKind::input, {file_, line}, fmt::format("{}: {}", full(key), message));
}

const toml::node* Keys::take(std::string_view key) {
  taken_.emplace(key);
  return table_->get(key);
}

std::optional<std::string> Keys::text(std::string_view key) {
  const auto* node = take(key);
  if (node == nullptr) return std::nullopt;
  if (!node->is_string()) fail(key, "must be a text in quotes");
  auto value = node->as_string()->get();
  if (value.empty()) fail(key, "is empty; leave the key out instead");
  return value;
}

std::string Keys::required_text(std::string_view key) {
  auto value = text(key);
  if (!value) fail(key, "is missing");
  return *value;
}

std::optional<int> Keys::whole(std::string_view key, int low, int high) {
  const auto* node = take(key);
  if (node == nullptr) return std::nullopt;
  if (!node->is_integer()) fail(key, "must be a whole number");
  const auto value = node->as_integer()->get();
  if (value < low || value > high)
    fail(key, fmt::format("{} is not within {} to {}", value, low, high));
  return static_cast<int>(value);
}

std::optional<double> Keys::number(std::string_view key, double low, double high) {
  const auto* node = take(key);
  if (node == nullptr) return std::nullopt;
  if (!node->is_number()) fail(key, "must be a number");
  const double value = *node->value<double>();
  if (!(value >= low && value <= high))
    fail(key, fmt::format("{} is not within {} to {}", value, low, high));
  return value;
}

bool Keys::flag(std::string_view key, bool otherwise) {
  const auto* node = take(key);
  if (node == nullptr) return otherwise;
  if (!node->is_boolean()) fail(key, "must be true or false");
  return node->as_boolean()->get();
}

std::vector<std::string> Keys::texts(std::string_view key) {
  const auto* node = take(key);
  std::vector<std::string> values;
  if (node == nullptr) return values;
  if (!node->is_array()) fail(key, "must be a list of texts");
  for (const auto& item : *node->as_array()) {
    if (!item.is_string() || item.as_string()->get().empty())
      fail(key, "must be a list of texts, none of them empty");
    values.push_back(item.as_string()->get());
  }
  return values;
}

std::vector<int> Keys::wholes(std::string_view key, int low, int high) {
  const auto* node = take(key);
  std::vector<int> values;
  if (node == nullptr) return values;
  if (!node->is_array()) fail(key, "must be a list of whole numbers");
  for (const auto& item : *node->as_array()) {
    const auto value = item.is_integer() ? item.as_integer()->get() : low - 1L;
    if (value < low || value > high)
      fail(key, fmt::format("must be a list of whole numbers from {} to {}", low, high));
    values.push_back(static_cast<int>(value));
  }
  return values;
}

std::optional<std::pair<double, double>> Keys::range(std::string_view key, double low,
                                                     double high) {
  const auto* node = take(key);
  if (node == nullptr) return std::nullopt;
  const auto* list = node->as_array();
  if (list == nullptr || list->size() != 2 || !(*list)[0].is_number() || !(*list)[1].is_number())
    fail(key, "must be a list of two numbers, [low, high]");
  const double first = *(*list)[0].value<double>(), second = *(*list)[1].value<double>();
  if (!(first >= low && second <= high && first <= second))
    fail(key, fmt::format("must be [low, high] within {} to {}", low, high));
  return std::pair{first, second};
}

std::optional<Keys> Keys::table(std::string_view key) {
  const auto* node = take(key);
  if (node == nullptr) return std::nullopt;
  if (!node->is_table()) fail(key, fmt::format("must be a table, [{}]", full(key)));
  return Keys(*node->as_table(), file_, full(key));
}

std::vector<Keys> Keys::tables(std::string_view key) {
  const auto* node = take(key);
  std::vector<Keys> values;
  if (node == nullptr) return values;
  if (!node->is_array_of_tables()) fail(key, fmt::format("must be tables, [[{}]]", full(key)));
  for (const auto& item : *node->as_array())
    values.emplace_back(*item.as_table(), file_, full(key));
  return values;
}

void Keys::done() const {
  for (const auto& [key, node] : *table_)
    if (!taken_.contains(key.str()))
      throw Error(ErrorKind::input, {file_, key.source().begin.line},
                  fmt::format("{}: no such key; the keys here are {}", full(key.str()),
                              fmt::join(taken_, ", ")));
}

}  // namespace stopledger
