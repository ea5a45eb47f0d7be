#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "schedule/due.h"

namespace stopledger {

/// One entry of a calendar file, whether it's written as an event or as a to-do.
struct CalendarEntry {
  enum class Status { open, done, cancelled };
  std::string uid;            ///< the same in every export of the same turn of a task
  std::int64_t sequence = 0;  ///< never falls from one export to the next
  Status status = Status::open;
  Day day{};                 ///< of the event: the season's start, else the day it is due by
  std::optional<Day> opens;  ///< of the to-do
  std::optional<Day> due;
  std::string summary, description;
  int alarm_days = 0;  ///< so many days ahead of `day`
};

/// The calendar of one car: the coming turn of each task, and the turns that an earlier export
/// may have held and that are over now, as done or cancelled.
///
/// A turn is named by the record that it follows, so a task that was done, corrected or removed
/// gets a new turn and the old one is closed. `revision` is the number of entries in the ledger:
/// it grows with every change, and with it the sequence.
///
/// `records`: all of the car, superseded and removed ones included.
/// `revised`: day of the ledger's last entry, where a task without any date is put.
std::vector<CalendarEntry> calendar_of(const CarSheet& car, std::span<const Record> records,
                                       std::span<const Procedure> procedures, Day today,
                                       std::int64_t revision, Day revised);

}  // namespace stopledger
