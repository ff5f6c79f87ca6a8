// Prints what ical.js reads of the calendar on standard input, for TestOtherReaders. The folder that holds it is named
// as the first argument.
const fs = require("fs");
const {createRequire} = require("module");
const loaded = createRequire(process.argv[2] + "/")("ical.js");
const ICAL = loaded.default || loaded;
const root = new ICAL.Component(ICAL.parse(fs.readFileSync(0, "utf8")));
const signed = (n) => (n < 0 ? "" : " ") + n;
const events = root.getAllSubcomponents("vevent").map((c) => {
  const e = new ICAL.Event(c);
  return {
    uid: e.uid,
    sequence: e.sequence,
    from: e.startDate.toString(),
    to: e.endDate.toString(),
    title: e.summary,
    description: e.description,
    place: e.location || "",
    status: c.getFirstPropertyValue("status"),
    alarms: c.getAllSubcomponents("valarm").map((a) =>
      a.getFirstPropertyValue("description") + signed(a.getFirstPropertyValue("trigger").toSeconds())),
  };
});
console.log(JSON.stringify(events));
