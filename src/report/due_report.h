#pragma once

#include <array>
#include <cstdint>
#include <iosfwd>
#include <span>
#include <string>
#include <vector>

#include "record/conflicts.h"
#include "schedule/due.h"

namespace stopledger {

/// text: "2 overdue, 1 unknown, 3 due", then each item with its reason and what stands in the way,
/// last the conflicts that nobody has settled, because what is due rests on the records.
/// json: "schema": "stopledger.due/1", with those not due yet.
enum class DueForm { text, text_with_later, json };

/// What is due of one car or many. Each item is put into words when it is added, so that only the
/// words are kept and only their places are put in order; reports of several threads are joined.
class DueReport {
 public:
  DueReport(DueForm form, Day on) : form_(form), on_(on) {}

  /// All items of one car, as what_is_due gives them. `place` is the car's among the cars: what is
  /// of the same urgency is told in that order.
  void add(std::uint32_t place, std::span<const DueItem> items);
  /// Takes over what was added to another report of the same form.
  void join(DueReport other);

  [[nodiscard]] bool any_overdue() const { return counts_[0] > 0; }
  /// The whole, most urgent first.
  void write(std::ostream& out, std::span<const Conflict> conflicts);

 private:
  /// Where the words of an item are.
  struct Entry {
    std::uint64_t order;  ///< by state, then day, then place of the car
    std::size_t begin;    ///< the items of a car were added in their order
    std::uint32_t size;
    std::uint32_t text;  ///< in texts_
  };
  void write_text(std::ostream& out, std::span<const Conflict> conflicts) const;
  void write_json(std::ostream& out, std::span<const Conflict> conflicts) const;
  void write_items(std::ostream& out, std::string_view between) const;

  DueForm form_;
  Day on_;
  std::array<std::size_t, 4> counts_{};  ///< by state
  std::vector<Entry> entries_;
  std::vector<std::string> texts_;  ///< all items of a car in one
};

}  // namespace stopledger
