#pragma once

#include <algorithm>
#include <initializer_list>
#include <map>
#include <optional>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace stopledger {

/// A field as the person wrote it, and the same normalised beside it.
struct FieldValue {
  std::string written;               ///< "1.2 qt", "yes", "DOT 4"
  std::optional<double> normalised;  ///< in the field's base unit (record/kinds.h)
};

/// The fields of a record by name. Used as a map; kept in one piece, because a record has few of
/// them and what is due of ten thousand cars is read from half a million.
class Fields {
 public:
  using Entry = std::pair<std::string, FieldValue>;

  Fields() = default;
  Fields(std::map<std::string, FieldValue> map) {
    for (auto& [name, value] : map) entries_.emplace_back(name, std::move(value));
  }

  [[nodiscard]] auto begin() const { return entries_.begin(); }
  [[nodiscard]] auto end() const { return entries_.end(); }
  [[nodiscard]] std::size_t size() const { return entries_.size(); }
  [[nodiscard]] bool empty() const { return entries_.empty(); }

  [[nodiscard]] std::vector<Entry>::const_iterator find(std::string_view name) const {
    return std::find_if(begin(), end(), [&](const Entry& entry) {
      // Most names differ in length or in the first letter, which asks for no call.
      return entry.first.size() == name.size() && (name.empty() || entry.first[0] == name[0]) &&
             entry.first == name;
    });
  }
  [[nodiscard]] bool contains(std::string_view name) const { return find(name) != end(); }
  /// Throws std::out_of_range when there is none.
  [[nodiscard]] const FieldValue& at(std::string_view name) const {
    const auto found = find(name);
    if (found == end()) throw std::out_of_range("no field " + std::string(name));
    return found->second;
  }
  /// Adds the field when there is none.
  FieldValue& operator[](std::string_view name) {
    const auto after =
        std::lower_bound(entries_.begin(), entries_.end(), name,
                         [](const Entry& entry, std::string_view n) { return entry.first < n; });
    if (after != entries_.end() && after->first == name) return after->second;
    return entries_.emplace(after, std::string(name), FieldValue{})->second;
  }

  /// `count` entries for the caller to set, names in rising order; what they held before may still
  /// stand in them, so that its memory is used again.
  std::span<Entry> reuse(std::size_t count) {
    entries_.resize(count);
    return entries_;
  }

 private:
  std::vector<Entry> entries_;  ///< by name
};

}  // namespace stopledger
