#include "command/kept_maps.h"

#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "base/error.h"
#include "command/ledger_use.h"

namespace stopledger {

namespace {

constexpr const char* map_kind = "channel-map";

/// The newest standing record that keeps a map for that wording.
std::optional<Record> newest_for(const Ledger& ledger, const std::string& car,
                                 const std::string& wording) {
  std::optional<Record> newest;
  for (const Record& record : ledger.records_of(car)) {
    if (record.kind != map_kind) continue;
    const auto field = record.fields.find("wording");
    if (field != record.fields.end() && field->second.written == wording) newest = record;
  }
  return newest;
}

/// The first column names of a log, for people to know the recorder by.
std::string first_columns(const Log& log) {
  std::string names;
  const auto add = [&](const std::string& name) {
    if (names.size() < 60) names += (names.empty() ? "" : ", ") + name;
  };
  for (const Channel& channel : log.channels) add(channel.column);
  for (const std::string& column : log.unused_columns) add(column);
  return names;
}

}  // namespace

const ChannelMap* KeptMaps::find(const std::string& wording) {
  auto [place, fresh] = kept_.try_emplace(wording);
  Kept& kept = place->second;
  if (fresh)
    if (const auto record = newest_for(*ledger_, car_, wording)) {
      const auto files = ledger_->files_of(record->id);
      const std::string name = fmt::format("the channel map kept as record {}", record->id);
      if (files.empty())
        throw Error(
            ErrorKind::input, {name},
            fmt::format(
                "has no map with it; forget it with `stopledger remove {} --reason \"...\"`",
                record->id));
      kept.map = parse_channel_map(files.front().bytes, name);
      kept.record = record->id;
    }
  return kept.map ? &*kept.map : nullptr;
}

std::optional<std::int64_t> KeptMaps::record_of(const std::string& wording) const {
  const auto place = kept_.find(wording);
  if (place == kept_.end() || !place->second.map) return std::nullopt;
  return place->second.record;
}

void note_kept_map(const KeptMaps& maps, Log& log) {
  if (const auto record = maps.record_of(log.wording))
    log.notes.push_back(
        fmt::format("columns read by the channel map kept with the car (record {})", *record));
}

std::string keep_map(Ledger& ledger, const std::string& car, Day day, const std::string& path,
                     const Log& log, Context& context) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream bytes;
  bytes << file.rdbuf();
  if (!file) throw Error(ErrorKind::file, {path}, "cannot be read again to keep it in the ledger");
  KeptFile document{std::filesystem::path(path).filename().string(),
                    std::move(bytes).str(),
                    FileRole::document,
                    {}};
  if (const auto before = newest_for(ledger, car, log.wording)) {
    const auto files = ledger.files_of(before->id);
    if (!files.empty() && files.front().bytes == document.bytes) return {};
  }
  Record record;
  record.car = car;
  record.kind = map_kind;
  record.day = day;
  record.who = who_of(context, {});
  record.fields["wording"] = {.written = log.wording, .normalised = {}};
  record.fields["columns"] = {.written = first_columns(log), .normalised = {}};
  const EntryStamp stamp = stamp_of(context, record.who);
  ledger.begin();
  const Record added = ledger.add_record(record, stamp);
  ledger.attach(added.id, document, stamp);
  ledger.commit();
  return fmt::format(
      "Kept the channel map for {} and recordings with these column names (record {}); "
      "`stopledger remove {} --reason \"...\"` forgets it.\n",
      car, added.id, added.id);
}

}  // namespace stopledger
