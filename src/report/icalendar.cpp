#include "report/icalendar.h"

#include <fmt/format.h>

#include "base/version.h"

namespace stopledger {
namespace {

constexpr std::size_t line_octets = 75;

std::string date_value(Day day) {
  return fmt::format("{:04}{:02}{:02}", static_cast<int>(day.year()),
                     static_cast<unsigned>(day.month()), static_cast<unsigned>(day.day()));
}

/// "2026-11-25T21:48:45Z" as "20261125T214845Z".
std::string stamp_value(std::string_view stamp) {
  std::string value;
  for (const char c : stamp)
    if (c != '-' && c != ':') value += c;
  return value;
}

std::string_view status_value(CalendarEntry::Status status, CalendarForm form) {
  const bool todo = form == CalendarForm::todos;
  switch (status) {
    case CalendarEntry::Status::open:
      return todo ? "NEEDS-ACTION" : "CONFIRMED";
    case CalendarEntry::Status::done:
      return todo ? "COMPLETED" : "CANCELLED";
    case CalendarEntry::Status::cancelled:
      break;
  }
  return "CANCELLED";
}

class Writer {
 public:
  void line(std::string_view text) { out_ += fold_line(text); }
  template <typename... Args>
  void line(fmt::format_string<Args...> format, Args&&... args) {
    out_ += fold_line(fmt::format(format, std::forward<Args>(args)...));
  }
  std::string take() { return std::move(out_); }

 private:
  std::string out_;
};

/// An event lasts one day without an end (IC-06). A to-do may begin only before it is due (IC-09),
/// and an alarm counts from the beginning or, without one, from the end (IC-16).
void write_dates(Writer& out, const CalendarEntry& entry, CalendarForm form) {
  bool from_end = false;
  if (form == CalendarForm::events) {
    out.line("DTSTART;VALUE=DATE:{}", date_value(entry.day));
    out.line("TRANSP:TRANSPARENT");
  } else {
    const bool begins = entry.opens && (!entry.due || *entry.opens < *entry.due);
    if (begins) out.line("DTSTART;VALUE=DATE:{}", date_value(*entry.opens));
    if (entry.due) out.line("DUE;VALUE=DATE:{}", date_value(*entry.due));
    if (!begins && !entry.due) return;  // nothing that an alarm could count from
    from_end = !begins || entry.day == entry.due;
  }
  if (entry.status != CalendarEntry::Status::open || entry.alarm_days == 0) return;
  out.line("BEGIN:VALARM");
  out.line("ACTION:DISPLAY");
  out.line("DESCRIPTION:{}", escape_text(entry.summary));
  out.line("TRIGGER{}:-P{}D", from_end ? ";RELATED=END" : "", entry.alarm_days);
  out.line("END:VALARM");
}

}  // namespace

std::string fold_line(std::string_view line) {
  std::string out;
  std::size_t room = line_octets;
  while (line.size() > room) {
    std::size_t cut = room;
    while (cut > 0 && (static_cast<unsigned char>(line[cut]) & 0xC0) == 0x80) --cut;
    if (cut == 0) cut = room;  // not UTF-8
    out.append(line.substr(0, cut));
    out += "\r\n ";
    line.remove_prefix(cut);
    room = line_octets - 1;
  }
  out.append(line);
  out += "\r\n";
  return out;
}

std::string escape_text(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\n')
      out += "\\n";
    else if (c == '\\' || c == ';' || c == ',')
      out.append({'\\', c});
    else if (static_cast<unsigned char>(c) >= 0x20 || c == '\t')
      out += c;
  }
  return out;
}

std::string icalendar(std::span<const CalendarEntry> entries, CalendarForm form,
                      std::string_view stamp) {
  const std::string_view component = form == CalendarForm::events ? "VEVENT" : "VTODO";
  Writer out;
  out.line("BEGIN:VCALENDAR");
  out.line("VERSION:2.0");
  out.line("PRODID:-//stopledger//stopledger {}//EN", version);
  for (const auto& entry : entries) {
    out.line("BEGIN:{}", component);
    out.line("UID:{}", entry.uid);
    out.line("DTSTAMP:{}", stamp_value(stamp));
    out.line("SEQUENCE:{}", entry.sequence);
    out.line("STATUS:{}", status_value(entry.status, form));
    out.line("SUMMARY:{}", escape_text(entry.summary));
    out.line("DESCRIPTION:{}", escape_text(entry.description));
    write_dates(out, entry, form);
    out.line("END:{}", component);
  }
  out.line("END:VCALENDAR");
  return out.take();
}

}  // namespace stopledger
