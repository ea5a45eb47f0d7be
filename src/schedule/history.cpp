#include "schedule/history.h"

#include <algorithm>
#include <tuple>

namespace stopledger {

namespace {

/// Kinds are compared so often that a call for each would count.
bool same_kind(std::string_view a, std::string_view b) {
  return a.size() == b.size() && (a.empty() || a.front() == b.front()) && a == b;
}

}  // namespace

bool after(const Record& a, const Record& b) {
  return std::tie(a.day, a.entered_at, a.id) > std::tie(b.day, b.entered_at, b.id);
}

std::string_view field(const Record& record, std::string_view name) {
  const auto found = record.fields.find(name);
  return found == record.fields.end() ? std::string_view{}
                                      : std::string_view(found->second.written);
}

bool flag(const Record& record, std::string_view name) {
  const auto found = record.fields.find(name);
  return found != record.fields.end() && found->second.normalised.value_or(0.0) != 0.0;
}

History::History(std::span<const Record> records, Day on) : on_(on) {
  records_.reserve(records.size());
  for (const auto& record : records)
    if (record.current() && record.day <= on) records_.push_back(&record);
  for (const auto& record : records)
    if (record.supersedes) replaced_.emplace_back(*record.supersedes, record.uid);
  group();
}

void History::group() {
  // By counting: the records of a car are many, their kinds few.
  std::vector<std::size_t> group_of;
  group_of.reserve(records_.size());
  for (const Record* record : records_) {
    std::size_t at = 0;
    while (at < groups_.size() && !same_kind(groups_[at].kind, record->kind)) ++at;
    if (at == groups_.size()) groups_.push_back({record->kind, 0, 0});
    ++groups_[at].end;
    group_of.push_back(at);
  }
  std::size_t from = 0;
  for (auto& group : groups_) {
    const std::size_t size = group.end;
    group.begin = group.end = from;
    from += size;
  }
  std::vector<const Record*> ordered(records_.size());
  for (std::size_t i = 0; i < records_.size(); ++i)
    ordered[groups_[group_of[i]].end++] = records_[i];
  records_ = std::move(ordered);
  const auto earlier = [](const Record* a, const Record* b) { return after(*b, *a); };
  for (const auto& group : groups_) {
    const auto begin = records_.begin() + static_cast<std::ptrdiff_t>(group.begin);
    const auto end = records_.begin() + static_cast<std::ptrdiff_t>(group.end);
    if (!std::is_sorted(begin, end, earlier)) std::sort(begin, end, earlier);
  }
}

std::span<const Record* const> History::of(std::string_view kind) const {
  for (const auto& group : groups_)
    if (same_kind(group.kind, kind))
      return std::span(records_).subspan(group.begin, group.end - group.begin);
  return {};
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
