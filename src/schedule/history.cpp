#include "schedule/history.h"

#include <algorithm>
#include <tuple>

namespace stopledger {

bool after(const Record& a, const Record& b) {
  return std::tie(a.day, a.entered_at, a.id) > std::tie(b.day, b.entered_at, b.id);
}

std::string_view field(const Record& record, std::string_view name) {
  const auto found = record.fields.find(std::string(name));
  return found == record.fields.end() ? std::string_view{}
                                      : std::string_view(found->second.written);
}

bool flag(const Record& record, std::string_view name) {
  const auto found = record.fields.find(std::string(name));
  return found != record.fields.end() && found->second.normalised.value_or(0.0) != 0.0;
}

History::History(std::span<const Record> records, Day on) : on_(on) {
  records_.reserve(records.size());
  for (const auto& record : records)
    if (record.current() && record.day <= on) records_.push_back(&record);
  for (const auto& record : records)
    if (record.supersedes) replaced_.emplace_back(*record.supersedes, record.uid);
  std::sort(records_.begin(), records_.end(), [](const Record* a, const Record* b) {
    return a->kind != b->kind ? a->kind < b->kind : after(*b, *a);
  });
}

std::span<const Record* const> History::of(std::string_view kind) const {
  const auto low =
      std::lower_bound(records_.begin(), records_.end(), kind,
                       [](const Record* r, std::string_view k) { return r->kind < k; });
  const auto high = std::upper_bound(
      low, records_.end(), kind, [](std::string_view k, const Record* r) { return k < r->kind; });
  return {low, high};
}

std::string_view History::standing_uid(std::string_view uid) const {
  for (std::size_t steps = 0; steps <= replaced_.size(); ++steps) {
    const auto found = std::find_if(replaced_.begin(), replaced_.end(),
                                    [&](const auto& pair) { return pair.first == uid; });
    if (found == replaced_.end()) break;
    uid = found->second;
  }
  return uid;
}

const Record* History::newest(std::string_view kind) const {
  const auto found = of(kind);
  return found.empty() ? nullptr : found.back();
}

std::vector<Storage> storages(const History& history) {
  std::vector<Storage> spans;
  const auto ends = history.of("storage-end");
  for (const Record* begin : history.of("storage-begin")) {
    const auto end =
        std::find_if(ends.begin(), ends.end(), [&](const Record* r) { return after(*r, *begin); });
    spans.push_back({begin, end == ends.end() ? nullptr : *end});
  }
  return spans;
}

}  // namespace stopledger
