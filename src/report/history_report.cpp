#include "report/history_report.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <ostream>

#include "record/kinds.h"

namespace stopledger {

namespace {

using ordered_json = nlohmann::ordered_json;

std::string age(Day from, Day today) {
  const int days = days_between(from, today);
  if (days == 0) return "today";
  if (days < 0) return fmt::format("{} days ahead", -days);
  if (days < 60) return fmt::format("{} day{} ago", days, days == 1 ? "" : "s");
  int months = static_cast<int>(days / 30.44);  // mean month; the count of days is what counts
  if (months < 24) return fmt::format("{} months ago", months);
  return fmt::format("{:.1f} years ago", days / 365.25);
}

std::string title(const Record& record) {
  const auto* kind = known_kind(record.kind);
  return kind == nullptr ? record.kind : std::string(kind->title);
}

std::string people(const Record& record) {
  std::string out = record.who;
  if (!record.signed_by.empty())
    out += fmt::format("{}signed {}", out.empty() ? "" : ", ", record.signed_by);
  return out;
}

/// "#12  2026-05-03  fluid change  45210 km: grade DOT 4, fl 180mL  (A. Person) - note".
std::string line(const Record& record) {
  auto out = fmt::format("#{:<5} {}  {}", record.id, format_day(record.day), title(record));
  if (record.odometer_km) out += "  " + record.odometer_written;
  if (const auto fields = record_line(record); !fields.empty()) out += ": " + fields;
  if (const auto names = people(record); !names.empty()) out += fmt::format("  ({})", names);
  if (!record.note.empty()) out += "  - " + record.note;
  return out;
}

const Record* with_uid(const std::vector<Record>& records, const std::string& uid) {
  for (const auto& record : records)
    if (record.uid == uid) return &record;
  return nullptr;
}

ordered_json record_value(const Record& record) {
  ordered_json out{{"number", record.id},
                   {"uid", record.uid},
                   {"car", record.car},
                   {"kind", record.kind},
                   {"day", format_day(record.day)},
                   {"odometer_km", nullptr},
                   {"odometer", nullptr},
                   {"who", record.who},
                   {"signed_by", record.signed_by},
                   {"note", record.note},
                   {"entered_at", record.entered_at},
                   {"entered_by", record.entered_by},
                   {"supersedes", nullptr},
                   {"superseded_by", nullptr},
                   {"removed", record.removed},
                   {"removal_reason", record.removal_reason},
                   {"fields", ordered_json::object()}};
  if (record.odometer_km) {
    out["odometer_km"] = *record.odometer_km;
    out["odometer"] = record.odometer_written;
  }
  if (record.supersedes) out["supersedes"] = *record.supersedes;
  if (record.superseded_by) out["superseded_by"] = *record.superseded_by;
  for (const auto& [name, value] : record.fields) {
    auto& field = out["fields"][name];
    field["written"] = value.written;
    field["value"] = value.normalised ? ordered_json(*value.normalised) : ordered_json(nullptr);
  }
  return out;
}

ordered_json record_values(std::span<const Record> records) {
  auto out = ordered_json::array();
  for (const auto& record : records) out.push_back(record_value(record));
  return out;
}

}  // namespace

std::string record_json(const Record& record) { return record_value(record).dump(); }

void write_history(std::ostream& out, const HistoryView& view) {
  out << view.car << ", " << format_day(view.today) << "\n";
  if (!view.open_faults.empty()) {
    out << "\nOpen faults (do not drive it, have it looked at):\n";
    for (const auto& record : view.open_faults) out << "  " << line(record) << "\n";
  }
  if (!view.conflicts.empty()) out << "\nNot settled since two ledgers were brought together:\n";
  for (const auto& conflict : view.conflicts) out << "  " << conflict.text << "\n";
  const auto newest = newest_records(view.records);
  if (newest.empty()) out << "No records yet.\n";
  if (!newest.empty()) out << "\nLast of each kind:\n";
  for (const auto& record : newest)
    out << fmt::format("  {:<14} {}\n", age(record.day, view.today), line(record));
  out << (view.trail ? "\nTrail:\n" : newest.empty() ? "" : "\nRecords:\n");
  std::size_t hidden = 0;
  for (const auto& record : view.records) {
    if (!record.current() && !view.trail) {
      ++hidden;
      continue;
    }
    out << "  " << line(record) << "\n";
    if (!view.trail) continue;
    out << fmt::format("         entered {}{}\n", record.entered_at,
                       record.entered_by.empty() ? "" : " by " + record.entered_by);
    if (record.supersedes)
      if (const auto* old = with_uid(view.records, *record.supersedes))
        out << fmt::format("         corrects #{}\n", old->id);
    if (record.superseded_by)
      if (const auto* later = with_uid(view.records, *record.superseded_by))
        out << fmt::format("         CORRECTED by #{}\n", later->id);
    if (record.removed) out << fmt::format("         REMOVED: {}\n", record.removal_reason);
  }
  if (hidden > 0)
    out << fmt::format("{} corrected or removed record{} not shown; --trail shows all.\n", hidden,
                       hidden == 1 ? "" : "s");
  out << "\nLast digest of the ledger: " << view.last_digest << "\n";
}

void write_history_json(std::ostream& out, const HistoryView& view) {
  std::vector<Record> shown;
  for (const auto& record : view.records)
    if (view.trail || record.current()) shown.push_back(record);
  ordered_json document{
      {"schema", "stopledger.history/1"},   {"car", view.car},
      {"day", format_day(view.today)},      {"open_faults", record_values(view.open_faults)},
      {"conflicts", ordered_json::array()}, {"newest", record_values(newest_records(view.records))},
      {"records", record_values(shown)},    {"last_digest", view.last_digest}};
  for (const auto& conflict : view.conflicts) document["conflicts"].push_back(conflict.text);
  out << document.dump(2) << "\n";
}

void write_answer(std::ostream& out, const HistoryView& view, const std::string& subject,
                  const LastAnswer& answer) {
  if (answer.answered) {
    out << fmt::format("{}: {} last answered on {}, {}.\n  {}\n", view.car, subject,
                       format_day(answer.answered->day), age(answer.answered->day, view.today),
                       line(*answer.answered));
  } else {
    out << fmt::format("{}: no record shows that {} ever answered.\n", view.car, subject);
  }
  if (!answer.failed_since.empty()) {
    out << "Tried since, and it did not answer as it should:\n";
    for (const auto& record : answer.failed_since) out << "  " << line(record) << "\n";
  }
  out << (answer.changed_since.empty() ? "Nothing is recorded as changed since.\n"
          : answer.answered            ? "Changed since:\n"
                                       : "Changes on record:\n");
  for (const auto& record : answer.changed_since) out << "  " << line(record) << "\n";
}

void write_answer_json(std::ostream& out, const HistoryView& view, const std::string& subject,
                       const LastAnswer& answer) {
  ordered_json document{
      {"schema", "stopledger.answered/1"},
      {"car", view.car},
      {"subject", subject},
      {"answered", answer.answered ? record_value(*answer.answered) : ordered_json(nullptr)},
      {"failed_since", record_values(answer.failed_since)},
      {"changed_since", record_values(answer.changed_since)}};
  out << document.dump(2) << "\n";
}

}  // namespace stopledger
