// IC ids: RFC 5545, see tests/SOURCES.md.
#include "report/icalendar.h"

#include <catch2/catch.hpp>
#include <sstream>

using namespace stopledger;

namespace {

CalendarEntry entry() {
  CalendarEntry e;
  e.uid = "fluid-change.r1@stopledger";
  e.sequence = 128;
  e.day = *parse_day("2007-07-14");
  e.opens = *parse_day("2007-07-01");
  e.due = *parse_day("2007-07-14");
  e.summary = "Alder: Fluid change";
  e.description = "due";
  e.alarm_days = 14;
  return e;
}

std::string written(const CalendarEntry& e, CalendarForm form = CalendarForm::events) {
  return icalendar({&e, 1}, form, "2026-11-25T21:48:45Z");
}

}  // namespace

TEST_CASE("a line of 75 octets is not folded, one of 76 is", "[report][icalendar][IC-01]") {
  CHECK(fold_line(std::string(75, 'x')) == std::string(75, 'x') + "\r\n");
  CHECK(fold_line(std::string(76, 'x')) == std::string(75, 'x') + "\r\n x\r\n");
  // The blank of a continuation line counts: 74 more fit.
  CHECK(fold_line(std::string(75 + 74, 'x')) ==
        std::string(75, 'x') + "\r\n " + std::string(74, 'x') + "\r\n");
  CHECK(fold_line(std::string(75 + 75, 'x')) ==
        std::string(75, 'x') + "\r\n " + std::string(74, 'x') + "\r\n x\r\n");
}

TEST_CASE("\"DESCRIPTION:\" leaves 63 octets before the fold", "[report][icalendar][IC-01]") {
  const auto folded = fold_line("DESCRIPTION:" + std::string(64, 'a'));
  CHECK(folded == "DESCRIPTION:" + std::string(63, 'a') + "\r\n a\r\n");
}

TEST_CASE("a character is never cut in two", "[report][icalendar][IC-02]") {
  std::string text = "SUMMARY:x";
  for (int i = 0; i < 60; ++i) text += "\u00e4\u20ac\U0001F697";  // two, three and four octets
  const auto folded = fold_line(text);
  std::string unfolded;
  std::istringstream lines(folded);
  for (std::string line; std::getline(lines, line);) {
    REQUIRE(line.back() == '\r');
    line.pop_back();
    CHECK(line.size() <= 75);
    const auto start = unfolded.empty() ? line : line.substr(1);
    CHECK((static_cast<unsigned char>(start[0]) & 0xC0) != 0x80);
    unfolded += start;
  }
  CHECK(unfolded == text);
}

TEST_CASE("text is escaped, colon and quote are not", "[report][icalendar][IC-11]") {
  CHECK(escape_text("a\\b;c,d\ne:\"f\"\r") == "a\\\\b\\;c\\,d\\ne:\"f\"");
}

TEST_CASE("an event is one day as a DATE with one end at most", "[report][icalendar][IC-06]") {
  const auto text = written(entry());
  CHECK_THAT(text, Catch::Contains("\r\nDTSTART;VALUE=DATE:20070714\r\n"));  // IC-10
  CHECK_THAT(text, !Catch::Contains("DTEND") && !Catch::Contains("DURATION"));
  CHECK_THAT(text, Catch::Contains("DTSTAMP:20261125T214845Z\r\n"));  // IC-12
  CHECK_THAT(text, Catch::Contains("TRIGGER:-P14D\r\n"));
  CHECK_THAT(text, Catch::StartsWith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:"));  // IC-03
}

TEST_CASE("a to-do begins before it is due or not at all", "[report][icalendar][IC-09]") {
  auto e = entry();
  CHECK_THAT(written(e, CalendarForm::todos),
             Catch::Contains("DTSTART;VALUE=DATE:20070701\r\nDUE;VALUE=DATE:20070714\r\n"));
  e.opens = e.due;
  CHECK_THAT(written(e, CalendarForm::todos), !Catch::Contains("DTSTART"));
}

TEST_CASE("an alarm of a to-do with an end only counts from the end",
          "[report][icalendar][IC-16]") {
  auto e = entry();
  e.opens.reset();
  CHECK_THAT(written(e, CalendarForm::todos), Catch::Contains("TRIGGER;RELATED=END:-P14D\r\n"));
  e.due.reset();
  CHECK_THAT(written(e, CalendarForm::todos), !Catch::Contains("VALARM"));
  // A season's alarm is two weeks before its start.
  e = entry();
  e.day = *e.opens;
  CHECK_THAT(written(e, CalendarForm::todos), Catch::Contains("TRIGGER:-P14D\r\n"));
}

TEST_CASE("what is over is cancelled as an event and completed as a to-do", "[report][icalendar]") {
  auto e = entry();
  e.status = CalendarEntry::Status::done;
  CHECK_THAT(written(e), Catch::Contains("STATUS:CANCELLED\r\n") && !Catch::Contains("VALARM"));
  CHECK_THAT(written(e, CalendarForm::todos), Catch::Contains("STATUS:COMPLETED\r\n"));
}
