#pragma once

#include <span>
#include <string_view>

namespace stopledger {

/// One line of the list before the drive; every one is a yes, or there is no session.
struct DayItem {
  std::string_view group;  ///< "Car", "Recorder", "People", "Place", "Weather"
  std::string_view text;
  std::string_view blank;  ///< what to write down, with its unit; may be empty
};

/// The list in the order in which it is walked through.
/// Source: common practice, but for the tread depth (UK legal minimum, DY-01).
std::span<const DayItem> day_list();

}  // namespace stopledger
