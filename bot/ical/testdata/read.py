"""Prints what python3-icalendar reads of the calendar on standard input, for TestOtherReaders."""
import json
import sys

import icalendar



def told(moment):
    return moment.isoformat().replace("+00:00", "Z")


events = []
for e in icalendar.Calendar.from_ical(sys.stdin.buffer.read()).walk("VEVENT"):
    alarms = [a for a in e.subcomponents if a.name == "VALARM"]
    events.append({
        "uid": str(e["UID"]),
        "sequence": int(e["SEQUENCE"]),
        "from": told(e.decoded("DTSTART")),
        "to": told(e.decoded("DTEND" if "DTEND" in e else "DTSTART")),
        "title": str(e["SUMMARY"]),
        "description": str(e["DESCRIPTION"]),
        "place": str(e.get("LOCATION", "")),
        "status": str(e["STATUS"]),
        "alarms": [str(a["DESCRIPTION"]) + int(a.decoded("TRIGGER").total_seconds()).__format__(" d") for a in alarms],
    })
print(json.dumps(events))
