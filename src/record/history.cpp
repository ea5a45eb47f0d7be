#include "record/history.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>
#include <tuple>

#include "record/kinds.h"

namespace stopledger {

namespace {

std::string written(const Record& record, std::string_view field) {
  const auto found = record.fields.find(std::string(field));
  return found == record.fields.end() ? std::string() : found->second.written;
}

bool earlier(const Record& a, const Record& b) {
  return std::tie(a.day, a.id) < std::tie(b.day, b.id);
}

/// Whether the record shows the corner or the pump answer; empty when it does not speak of it.
std::optional<bool> answers(const Record& record, std::optional<Corner> corner) {
  std::string name;
  if (corner)
    for (const char c : corner_name(*corner))
      name += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  if (record.kind == "exercise") {
    const auto result = written(record, corner ? name : "pump");
    // Unseen says nothing either way; idle means it was not tried.
    if (result == "exercised") return true;
    if (result == "suspect") return false;
  }
  if (corner && record.kind == "valve-test")
    if (const auto release = written(record, name + ".release"); !release.empty())
      return release == "yes";
  if (!corner && record.kind == "pump-run") return written(record, "result") == "pass";
  return std::nullopt;
}

constexpr std::array touching{"change",       "part",     "repair",     "fault",
                              "fluid-change", "re-flush", "unit-bleed", "cluster-replaced"};

}  // namespace

std::string record_line(const Record& record) {
  std::string out;
  std::set<std::string> shown;
  const auto add = [&](const std::string& name, const FieldValue& value) {
    if (!shown.insert(name).second) return;
    out += fmt::format("{}{} {}", out.empty() ? "" : ", ", name, value.written);
  };
  if (const auto* kind = known_kind(record.kind))
    for (const auto& [name, field] : spelled_fields(kind->fields))
      if (const auto found = record.fields.find(name);
          found != record.fields.end() && field->type != FieldType::reference)
        add(name, found->second);
  for (const auto& [name, value] : record.fields) {
    const auto* kind = known_kind(record.kind);
    bool hidden = false;
    if (kind != nullptr)
      for (const auto& field : kind->fields)
        hidden = hidden || (field.name == name && field.type == FieldType::reference);
    if (!hidden) add(name, value);
  }
  return out;
}

std::vector<Record> newest_records(std::span<const Record> records) {
  std::vector<Record> sorted;
  for (const auto& record : records)
    if (record.current()) sorted.push_back(record);
  std::sort(sorted.begin(), sorted.end(),
            [](const Record& a, const Record& b) { return earlier(b, a); });
  std::set<std::pair<std::string, std::string>> seen;
  std::vector<Record> out;
  for (auto& record : sorted) {
    const auto* kind = known_kind(record.kind);
    const auto subject = kind == nullptr ? std::string() : written(record, kind->subject);
    if (seen.emplace(record.kind, subject).second) out.push_back(std::move(record));
  }
  return out;
}

LastAnswer last_answer_by(std::span<const Record> records,
                          const std::function<std::optional<bool>(const Record&)>& answers_of) {
  std::vector<Record> sorted;
  for (const auto& record : records)
    if (record.current()) sorted.push_back(record);
  std::sort(sorted.begin(), sorted.end(), earlier);
  LastAnswer out;
  for (const auto& record : sorted) {
    const std::optional<bool> answer = answers_of(record);
    if (answer == true) {
      out.answered = record;
      out.failed_since.clear();
      out.changed_since.clear();
    } else if (answer == false) {
      out.failed_since.push_back(record);
    }
    if (std::find(touching.begin(), touching.end(), record.kind) != touching.end())
      out.changed_since.push_back(record);
  }
  return out;
}

LastAnswer last_answer(std::span<const Record> records, std::optional<Corner> corner) {
  return last_answer_by(records, [&](const Record& record) { return answers(record, corner); });
}

LastAnswer last_control_answer(std::span<const Record> records) {
  return last_answer_by(records, [](const Record& record) {
    std::optional<bool> any;
    for (const Corner corner : all_corners)
      if (const auto one = answers(record, corner)) any = any.value_or(false) || *one;
    return any;
  });
}

}  // namespace stopledger
