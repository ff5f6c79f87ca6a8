"""Prints what python3-icalendar reads of the calendar on standard input, for TestOtherReaders."""
import json
import sys

import icalendar

events = []
for e in icalendar.Calendar.from_ical(sys.stdin.buffer.read()).walk("VEVENT"):
    alarms = [a for a in e.subcomponents if a.name == "VALARM"]
    events.append({
        "uid": str(e["UID"]),
        "sequence": int(e["SEQUENCE"]),
        "from": e.decoded("DTSTART").isoformat(),
        "to": e.decoded("DTEND").isoformat(),
        "title": str(e["SUMMARY"]),
        "description": str(e["DESCRIPTION"]),
        "status": str(e["STATUS"]),
        "alarms": [str(a["DESCRIPTION"]) + int(a.decoded("TRIGGER").total_seconds()).__format__(" d") for a in alarms],
    })
print(json.dumps(events))
