#include "report/past_answers.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "record/kinds.h"
#include "report/wrap.h"

namespace stopledger {

namespace {

/// "2025-07-01, change to the car: what tyres, detail fronts (record 6)".
std::string dated(const Record& record) {
  const auto* kind = known_kind(record.kind);
  const auto fields = record_line(record);
  return fmt::format("{}, {}{}{} (record {})", format_day(record.day),
                     kind == nullptr ? std::string_view(record.kind) : kind->title,
                     fields.empty() ? "" : ": ", fields, record.id);
}

nlohmann::ordered_json short_record(const Record& record) {
  return {{"record", record.id},
          {"uid", record.uid},
          {"kind", record.kind},
          {"day", format_day(record.day)},
          {"fields", record_line(record)}};
}

}  // namespace

std::vector<std::string> past_answer_lines(const PastAnswer& past) {
  const auto& last = past.last;
  std::vector<std::string> lines{last.answered ? "last answered " + dated(*last.answered)
                                               : "no record shows that it ever answered"};
  for (const auto& record : last.failed_since) lines.push_back("did not answer " + dated(record));
  for (const auto& record : last.changed_since)
    lines.push_back((last.answered ? "changed since: " : "on record: ") + dated(record));
  if (last.answered && last.changed_since.empty())
    lines.emplace_back("nothing is recorded as changed since");
  return lines;
}

std::string past_answers_text(std::span<const PastAnswer> past, std::size_t width) {
  std::string text;
  for (const auto& one : past) {
    std::string head = fmt::format("  {:<8} ", one.subject);
    for (const auto& line : past_answer_lines(one)) {
      wrap_to(text, head, line, width);
      head.assign(head.size(), ' ');
    }
  }
  return text;
}

nlohmann::ordered_json past_answers_json(std::span<const PastAnswer> past) {
  auto out = nlohmann::ordered_json::array();
  for (const auto& [subject, last] : past) {
    auto failed = nlohmann::ordered_json::array(), changed = nlohmann::ordered_json::array();
    for (const auto& record : last.failed_since) failed.push_back(short_record(record));
    for (const auto& record : last.changed_since) changed.push_back(short_record(record));
    out.push_back({{"subject", subject},
                   {"answered",
                    last.answered ? short_record(*last.answered) : nlohmann::ordered_json(nullptr)},
                   {"failed_since", std::move(failed)},
                   {"changed_since", std::move(changed)}});
  }
  return out;
}

}  // namespace stopledger
