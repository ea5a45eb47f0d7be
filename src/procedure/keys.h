#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/toml.h"

namespace stopledger {

/// Takes the keys of one TOML table one after the other, checks their types, and at the end
/// complains of those that nobody took. Private to src/procedure.
class Keys {
 public:
  Keys(const toml::table& table, std::string file, std::string path = {});

  std::optional<std::string> text(std::string_view key);
  std::string required_text(std::string_view key);
  std::optional<int> whole(std::string_view key, int low, int high);
  std::optional<double> number(std::string_view key, double low, double high);
  bool flag(std::string_view key, bool otherwise);
  std::vector<std::string> texts(std::string_view key);
  std::vector<int> wholes(std::string_view key, int low, int high);
  /// [low, high] with low <= high.
  std::optional<std::pair<double, double>> range(std::string_view key, double low, double high);
  std::optional<Keys> table(std::string_view key);
  std::vector<Keys> tables(std::string_view key);

  /// Error unless every key of the table has been taken.
  void done() const;

  /// Input error at this key (or at the table when there is no such key).
  [[noreturn]] void fail(std::string_view key, const std::string& message) const;

 private:
  const toml::node* take(std::string_view key);
  [[nodiscard]] std::string full(std::string_view key) const;

  const toml::table* table_;
  std::string file_, path_;
  std::set<std::string, std::less<>> taken_;
};

}  // namespace stopledger
