#!/usr/bin/python3
"""Reads a calendar file with two independent parsers (Debian's python3-icalendar and
python3-vobject), says what they found, and fails unless both found the same.

calendar_parsers.py FILE.ics [UID-PREFIX...]   prints the entries whose uid starts so
"""
import datetime
import sys

import icalendar
import vobject


def plain(value):
    """A date, a duration or a text as comparable text."""
    if isinstance(value, datetime.datetime):
        return value.astimezone(datetime.timezone.utc).strftime("%Y%m%dT%H%M%SZ")
    if isinstance(value, datetime.date):
        return value.strftime("%Y%m%d")
    if isinstance(value, datetime.timedelta):
        return f"{value.total_seconds():.0f} s"
    return None if value is None else str(value)


NAMES = ["uid", "dtstamp", "sequence", "status", "summary", "description", "dtstart", "due",
         "transp"]


def by_icalendar(data):
    for part in icalendar.Calendar.from_ical(data).subcomponents:
        values = [part.name]
        for name in NAMES:
            value = part.get(name)
            values.append(plain(value.dt if hasattr(value, "dt") else value))
        for alarm in part.subcomponents:
            trigger = alarm["trigger"]
            values.append((str(alarm["action"]), str(alarm["description"]), plain(trigger.dt),
                           trigger.params.get("RELATED", "START")))
        yield values


def by_vobject(data):
    calendar = vobject.readOne(data.decode("utf-8"))
    for part in calendar.getChildren():
        if part.name not in ("VEVENT", "VTODO"):
            continue
        values = [part.name]
        for name in NAMES:
            values.append(plain(getattr(part, name).value) if hasattr(part, name) else None)
        for alarm in getattr(part, "valarm_list", []):
            related = getattr(alarm.trigger, "related_param", "START")
            values.append((alarm.action.value, alarm.description.value, plain(alarm.trigger.value),
                           related))
        yield values


def main():
    data = open(sys.argv[1], "rb").read()
    lines = data.split(b"\r\n")
    assert lines.pop() == b"" and not any(b"\n" in line or b"\r" in line for line in lines), \
        "lines must end in CRLF"
    assert max(map(len, lines)) <= 75, "a line is longer than 75 octets"
    for line in lines:
        line.decode("utf-8")  # a folded character would not decode
    first, second = list(by_icalendar(data)), list(by_vobject(data))
    for a, b in zip(first, second):
        if a != b:
            sys.exit(f"the parsers differ:\n{a}\n{b}")
    if len(first) != len(second):
        sys.exit(f"{len(first)} entries against {len(second)}")
    uids = [values[1] for values in first]
    assert len(uids) == len(set(uids)), "a uid stands twice"
    print(f"{len(first)} entries, read alike by both")
    for values in first:
        if any(values[1].startswith(prefix) for prefix in sys.argv[2:]):
            kind, uid, _, sequence, status, summary, _, start, due, *_ = values
            print(f"{kind} {status} {summary}, start {start}, due {due}, sequence {sequence}",
                  *(f"alarm {alarm[2]} {alarm[3]}" for alarm in values[10:]))


main()
