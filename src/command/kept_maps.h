#pragma once

#include <map>
#include <optional>
#include <string>

#include "command/context.h"
#include "log/channel_map.h"
#include "log/log.h"
#include "record/ledger.h"

namespace stopledger {

/// Channel maps that the ledger keeps with a car, one for each recorder's wording (Log::wording):
/// records of the kind `channel-map`, the map itself kept with them as a document. The newest one
/// that stands counts, so a map is corrected by keeping another and forgotten by `remove`.
class KeptMaps {
 public:
  /// Requires: `ledger` outlives this.
  KeptMaps(const Ledger& ledger, std::string car) : ledger_(&ledger), car_(std::move(car)) {}

  /// The map for that wording, or nullptr. Throws Error(input) when the kept map cannot be read,
  /// naming the record.
  const ChannelMap* find(const std::string& wording);

  /// The record whose map `find` gave for that wording.
  [[nodiscard]] std::optional<std::int64_t> record_of(const std::string& wording) const;

 private:
  struct Kept {
    std::int64_t record = 0;
    std::optional<ChannelMap> map;
  };
  const Ledger* ledger_;
  std::string car_;
  std::map<std::string, Kept> kept_;
};

/// Says among the notes of `log` that its columns were read by a kept map, if they were.
void note_kept_map(const KeptMaps& maps, Log& log);

/// Keeps the map file at `path` for the wording of `log` with the car and returns a line that says
/// so; "" when the newest map for that wording has the same bytes. `day`: of its record. One
/// transaction.
std::string keep_map(Ledger& ledger, const std::string& car, Day day, const std::string& path,
                     const Log& log, Context& context);

}  // namespace stopledger
