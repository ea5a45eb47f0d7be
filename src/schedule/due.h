#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/day.h"
#include "procedure/procedure.h"
#include "record/record.h"
#include "schedule/gate.h"

namespace stopledger {

/// In the order of urgency.
enum class DueState {
  overdue,  ///< past its late tolerance
  unknown,  ///< nothing says when it was last done
  due,      ///< within its window
  later     ///< not yet
};

/// "overdue", "unknown", "due", "later".
std::string_view due_state_name(DueState state);

/// One procedure of one car on one day.
struct DueItem {
  std::string car;
  std::string procedure;  ///< id
  std::string name;
  DueState state = DueState::later;
  std::optional<Day> last;               ///< last carried out
  std::string last_record;               ///< uid
  std::optional<Day> opens;              ///< first day of the window
  std::optional<Day> due;                ///< the day it should be done by
  std::optional<Day> overdue_after;      ///< last tolerated day
  std::optional<Day> due_low, due_high;  ///< spread when the day is reckoned from the odometer
  bool seasonal = false;
  std::int64_t last_record_id = 0, cause_record_id = 0;  ///< numbers in this ledger; 0: none
  std::string cause_record;   ///< uid of the record that made it due (repair, storage-end, ...)
  std::string reason;         ///< one sentence with the dates and figures that decided it
  std::string basis;          ///< where the rule comes from
  std::vector<Block> blocks;  ///< what stands in the way today (same-day checks left out)
};

/// What is due for one car on a day, most urgent first (state, then day, then id).
///
/// `records`: all records of the car, or at least the newest of each kind (and procedure), all
/// faults, repairs, parts and storage spans, and those with an odometer reading.
/// A retired or sold car has nothing due. A procedure that the car's unit is not made for, or
/// that only follows from others and has no cause, gives no item. Without `with_later` those not
/// due yet are left out, which is much faster for many cars.
std::vector<DueItem> what_is_due(const CarSheet& car, std::span<const Record> records,
                                 std::span<const Procedure> procedures, Day today,
                                 bool with_later = true);

}  // namespace stopledger
