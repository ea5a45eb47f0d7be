#pragma once

#include <span>
#include <string>
#include <string_view>

#include "schedule/calendar.h"

namespace stopledger {

/// How a calendar entry is written: all-day events suit every telephone, to-dos keep an overdue
/// task in sight where the calendar knows them.
enum class CalendarForm { events, todos };

/// A calendar file (RFC 5545) of these entries.
///
/// `stamp`: UTC time of the ledger's last entry, "YYYY-MM-DDTHH:MM:SSZ"; the same ledger gives the
/// same bytes.
std::string icalendar(std::span<const CalendarEntry> entries, CalendarForm form,
                      std::string_view stamp);

/// One content line, folded after at most 75 octets and never within a UTF-8 character, with its
/// CRLF. Source: RFC 5545 section 3.1 (IC-01, IC-02).
std::string fold_line(std::string_view line);

/// TEXT escapes: backslash, semicolon, comma, newline; other control characters are left out.
/// Source: RFC 5545 section 3.3.11 (IC-11).
std::string escape_text(std::string_view text);

}  // namespace stopledger
