#include "command/record_entry.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>

#include "base/error.h"
#include "command/ledger_use.h"

namespace stopledger {

void add_entry_options(CLI::App& command, RecordEntry& entry) {
  command.add_option("fields", entry.fields, "FIELD=VALUE ...");
  command.add_option("--car", entry.car, "the car; not needed when there is only one");
  command.add_option("--date", entry.date, "day it happened, YYYY-MM-DD (today)");
  command.add_option("--odometer", entry.odometer, "reading, such as \"45210 km\"");
  command.add_option("--who", entry.who, "who did it (STOPLEDGER_WHO)");
  command.add_option("--signed", entry.signed_by, "who signed");
  command.add_option("--note", entry.note, "free text");
}

void apply_entry(const Context& context, const Ledger& ledger, const Kind& kind,
                 const RecordEntry& entry, Record& record) {
  if (!entry.date.empty()) record.day = past_day(context, "--date", entry.date);
  if (!entry.odometer.empty()) set_odometer(record, ledger.car(record.car), entry.odometer);
  if (!entry.who.empty()) record.who = entry.who;
  if (!entry.signed_by.empty()) record.signed_by = entry.signed_by;
  if (!entry.note.empty()) record.note = entry.note;
  // Checked together with what the record holds already, so that needed fields may stay.
  std::vector<std::string> pairs;
  const auto given = check_fields(kind.name, kind.fields, entry.fields, false);
  for (const auto& [name, value] : record.fields) {
    const bool dropped =
        std::find(entry.without.begin(), entry.without.end(), name) != entry.without.end();
    if (!given.contains(name) && !dropped) pairs.push_back(name + "=" + value.written);
  }
  for (const auto& name : entry.without)
    if (!record.fields.contains(name))
      throw Error(ErrorKind::usage, fmt::format("--without: the record has no field \"{}\"", name));
  pairs.insert(pairs.end(), entry.fields.begin(), entry.fields.end());
  record.fields = check_fields(kind.name, kind.fields, pairs, true);
  for (const auto& [name, field] : spelled_fields(kind.fields)) {
    const auto found = record.fields.find(name);
    if (field->type != FieldType::reference || found == record.fields.end() ||
        !given.contains(name))
      continue;
    auto text = found->second.written;
    if (text.starts_with('#')) text.erase(0, 1);
    std::int64_t number = 0;
    const auto [end, code] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (code != std::errc{} || end != text.data() + text.size())
      throw Error(ErrorKind::usage,
                  fmt::format("{}: {}: \"{}\" is no record number; stopledger history shows them",
                              kind.name, name, found->second.written));
    const auto other = ledger.record(number);
    if (other.car != record.car)
      throw Error(ErrorKind::usage, fmt::format("{}: {}: record #{} belongs to {}", kind.name, name,
                                                other.id, other.car));
    if (name == "fault" && other.kind != "fault")
      throw Error(ErrorKind::usage, fmt::format("{}: fault: record #{} is a {}, not a fault",
                                                kind.name, other.id, other.kind));
    record.fields[name].written = other.uid;
  }
  if (record.kind == "odometer" && !record.odometer_km)
    throw Error(ErrorKind::usage, "odometer: give the reading with --odometer");
}

}  // namespace stopledger
