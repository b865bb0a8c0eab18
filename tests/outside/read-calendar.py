"""Reads a calendar with the library `icalendar` and prints what it holds as JSON."""

import json
import sys
import urllib.request

from icalendar import Calendar

with urllib.request.urlopen(sys.argv[1]) as answer:
    text = answer.read()

# RFC 5545, 3.1: lines of 75 octets at most, each ended by CRLF.
lines = text.split(b"\r\n")
calendar = Calendar.from_ical(text)
events = []
for event in calendar.walk("VEVENT"):
    if event.errors:
        sys.exit(f"{event.errors}")
    events.append(
        {
            "uid": str(event["UID"]),
            "start": event.decoded("DTSTART").isoformat(),
            "end": event.decoded("DTEND").isoformat(),
            "stamp": event.decoded("DTSTAMP").isoformat(),
            "sequence": int(event["SEQUENCE"]),
            "summary": str(event["SUMMARY"]),
            "description": str(event["DESCRIPTION"]),
            "location": str(event.get("LOCATION", "")),
        }
    )
print(
    json.dumps(
        {
            "longest": max(len(line) for line in lines),
            "bare": text.count(b"\n") - text.count(b"\r\n"),
            "version": str(calendar["VERSION"]),
            "name": str(calendar["X-WR-CALNAME"]),
            "about": str(calendar["DESCRIPTION"]),
            "errors": [str(error) for error in calendar.errors],
            "events": events,
        }
    )
)
