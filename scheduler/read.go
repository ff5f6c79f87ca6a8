package scheduler

import (
	"errors"
	"math/bits"
	"slices"
	"strings"
	"time"

	"github.com/robfig/cron/v3"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

const hint = "Write an hour, as in 07:00 or 7pm, days and an hour, as in mon,thu 07:00 or weekdays 6:30, " +
	"or five cron fields, as in 30 6 1 * * for 06:30 on the first of each month."

// ReadTimes reads the times of a co-op or member in its zone: an hour ("7", "07:00", "7pm"), days of the week with an
// hour ("mon,thu 07:00", "tue to sat 7", "weekdays 6:30"), or a standard cron expression of five fields, which may
// strike at most once a day. A day of the month and a day of the week that are both restricted each name days, as in
// crontab(5). Refusals are Unclear.
func ReadTimes(text string, zone *time.Location) (Times, error) {
	const longest = 100 // bytes
	folded := strings.ToLower(strings.TrimSpace(text))
	switch {
	case folded == "":
		return Times{}, fault.New(fault.Unclear, "No time was given. %s", hint)
	case len(folded) > longest:
		return Times{}, fault.New(fault.Unclear, "That is too long for times: %d letters are the most. %s", longest, hint)
	case strings.Contains(folded, "="): // also keeps "TZ=0" from cron, whose parser panics on it
		return Times{}, fault.New(fault.Unclear,
			"%q names a zone or a setting. Write the times alone: they are read in the zone already set.", clip(text))
	case strings.Contains(folded, "@"):
		return Times{}, fault.New(fault.Unclear, "Times with @, as in %q, are not understood. %s", clip(text), hint)
	}
	if days, hour, ok := readWeek(folded); ok {
		return newTimes(text, days.expression(hour), zone)
	}
	return newTimes(text, strings.Fields(folded), zone)
}

func newTimes(text string, fields []string, zone *time.Location) (Times, error) {
	spec, err := readCron(text, fields)
	if err != nil {
		return Times{}, err
	}
	hour := Hour(bits.TrailingZeros64(spec.Hour)*60 + bits.TrailingZeros64(spec.Minute))
	t := Times{wall: spec, hour: hour, zone: zone, text: canonical(spec, fields, hour)}
	if t.named(calendar.DayOf(2001, time.January, 1)).IsZero() {
		return Times{}, fault.New(fault.Unclear,
			"The days of %q never come. Choose a day of the month that its months have.", clip(text))
	}
	return t, nil
}

// readCron reads five cron fields that name one minute and one hour.
func readCron(text string, fields []string) (*cron.SpecSchedule, error) {
	if len(fields) == 6 || len(fields) == 7 {
		return nil, fault.New(fault.Unclear, "%q has %d fields. Write five: minute, hour, day of the month, month and "+
			"day of the week; there are no fields for seconds and years.", clip(text), len(fields))
	}
	unclear := fault.New(fault.Unclear, "%q is not a time. %s", clip(text), hint)
	if len(fields) != 5 {
		return nil, unclear
	}
	if slices.ContainsFunc(fields, careless) {
		return nil, unclear.Because(errors.New("an empty part, a sign, or a range from *"))
	}
	read, err := cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow).Parse(strings.Join(fields, " "))
	if err != nil {
		return nil, unclear.Because(err)
	}
	spec := read.(*cron.SpecSchedule) // what a parser without descriptors makes
	if bits.OnesCount64(spec.Minute) != 1 || bits.OnesCount64(spec.Hour) != 1 {
		return nil, fault.New(fault.Unclear, "%q strikes more than once a day. Give one minute and one hour, "+
			"as in 30 6 * * mon-fri for 06:30 on weekdays.", clip(text))
	}
	return spec, nil
}

// careless finds what cron's parser takes for something else: "1,,2", "+5", and "*-5", of which it drops the 5.
func careless(field string) bool {
	return strings.Contains(field, "+") || slices.ContainsFunc(strings.Split(field, ","), func(part string) bool {
		return part == "" || strings.HasPrefix(part, "*-") || strings.HasPrefix(part, "?-")
	})
}

// canonical writes the times without cron fields where days of the week and an hour say it all.
func canonical(spec *cron.SpecSchedule, fields []string, hour Hour) string {
	const star, months = 1 << 63, 0b1_1111_1111_1110
	if spec.Dom&star != 0 && spec.Month&months == months {
		return week(spec.Dow&^star).String() + hour.String()
	}
	return strings.Join(fields, " ")
}
