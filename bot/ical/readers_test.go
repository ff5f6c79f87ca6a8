package ical_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/bot/ical"
	"shortday/knowledge/calendar"
)

var readers = flag.String("readers", "", "a folder with ical.js in it: have other programs read our calendars (python3-icalendar too)")

type reading struct {
	UID         string   `json:"uid"`
	Sequence    int      `json:"sequence"`
	From        string   `json:"from"`
	To          string   `json:"to"`
	Title       string   `json:"title"`
	Description string   `json:"description"`
	Place       string   `json:"place"`
	Status      string   `json:"status"`
	Alarms      []string `json:"alarms"`
}

// ical.js (npm) and python3-icalendar (Debian) are parsers of others' making.
func TestOtherReaders(t *testing.T) {
	t.Parallel()
	if *readers == "" {
		t.Skip("needs -readers with a folder that holds ical.js, and python3-icalendar; .ci/run gives it")
	}
	events := []ical.Event{
		{UID: "1-stop@x", Sequence: 3, Day: calendar.DayOf(2028, time.February, 29), Title: `Stop: "Gilt", Ёлка; 日本 \ x`, Description: "One, two; three\nfour: " + strings.Repeat("ßж花🌼 ", 40) + ".", Alarm: ical.EveningBefore},
		{UID: "2-water-box@x", Day: calendar.DayOf(2027, time.December, 31), Title: "Water box: Saltmarsh", Description: "x", Alarm: ical.SameEvening},
		{UID: "3-pick@x", Sequence: 9, Day: calendar.DayOf(2027, time.November, 5), Title: "Pick: Saltmarsh", Description: "y", Cancelled: true, Alarm: ical.EveningBefore},
		{UID: "swap-4-2@x", Sequence: 1, At: time.Date(2027, time.October, 31, 2, 30, 0, 0, time.FixedZone("", 7200)), Title: "Hand over: 6 plants of Gilt", Description: "Swap 4.", Place: `The mill; "old", 日本 \ x`, Alarm: ical.HourBefore},
		{UID: "swap-5-2@x", At: time.Date(2027, time.March, 1, 10, 0, 0, 0, time.UTC), Title: "Receive: 1 plant of Gilt", Description: "Swap 5.", Place: "Quay", Cancelled: true, Alarm: ical.HourBefore},
	}
	var want []reading
	for _, e := range events {
		r := reading{UID: e.UID, Sequence: e.Sequence, From: e.Day.String(), To: e.Day.Add(1).String(), Title: e.Title, Description: e.Description, Place: e.Place, Status: "CONFIRMED", Alarms: []string{}}
		if !e.At.IsZero() {
			r.From = e.At.UTC().Format(time.RFC3339)
			r.To = r.From // without an end it takes no time
		}
		switch {
		case e.Cancelled:
			r.Status = "CANCELLED"
		case e.Alarm == ical.EveningBefore:
			r.Alarms = append(r.Alarms, e.Title+"-21600")
		case e.Alarm == ical.HourBefore:
			r.Alarms = append(r.Alarms, e.Title+"-3600")
		default:
			r.Alarms = append(r.Alarms, e.Title+" 64800")
		}
		want = append(want, r)
	}
	data := write(t, events...)
	for _, command := range [][]string{
		{"/usr/bin/python3", filepath.Join("testdata", "read.py")},
		{"node", filepath.Join("testdata", "read.cjs"), *readers},
	} {
		run := exec.CommandContext(t.Context(), command[0], command[1:]...)
		run.Stdin = bytes.NewReader(data)
		var failed bytes.Buffer
		run.Stderr = &failed
		out, err := run.Output()
		require.NoError(t, err, "%s: %s", command[1], failed.String())
		var got []reading
		require.NoError(t, json.Unmarshal(out, &got))
		require.Equal(t, want, got, command[1])
	}
}
