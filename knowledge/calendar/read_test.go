package calendar_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// today is Wednesday 10 November 2027, in ISO week 45.
var today = calendar.DayOf(2027, time.November, 10)

func TestRead(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]struct{ planned, done, running string }{
		"2027-11-05":              {"2027-11-05", "2027-11-05", "2027-11-05"},
		"2027/11/5":               {"2027-11-05", "2027-11-05", "2027-11-05"},
		"5 nov":                   {"2028-11-05", "2027-11-05", "2027-11-05"},
		"nov 5":                   {"2028-11-05", "2027-11-05", "2027-11-05"},
		"  5TH   Novémber ":       {"2028-11-05", "2027-11-05", "2027-11-05"},
		"the 5th of november":     {"2028-11-05", "2027-11-05", "2027-11-05"},
		"5th november 2027":       {"2027-11-05", "2027-11-05", "2027-11-05"},
		"November 5, 2027":        {"2027-11-05", "2027-11-05", "2027-11-05"},
		"2027 nov 5":              {"2027-11-05", "2027-11-05", "2027-11-05"},
		"5 nov 27":                {"2027-11-05", "2027-11-05", "2027-11-05"},
		"5-Nov-2027":              {"2027-11-05", "2027-11-05", "2027-11-05"},
		"5nov":                    {"2028-11-05", "2027-11-05", "2027-11-05"},
		"5.11.":                   {"2028-11-05", "2027-11-05", "2027-11-05"},
		"5/11":                    {"2028-11-05", "2027-11-05", "2027-11-05"},
		"5/11/27":                 {"2027-11-05", "2027-11-05", "2027-11-05"},
		"5. 11. 2027":             {"2027-11-05", "2027-11-05", "2027-11-05"},
		"5-11-2027":               {"2027-11-05", "2027-11-05", "2027-11-05"},
		"Fri 5 Nov 2027":          {"2027-11-05", "2027-11-05", "2027-11-05"},
		"friday, 5 november 2027": {"2027-11-05", "2027-11-05", "2027-11-05"},
		"10 nov":                  {"2027-11-10", "2027-11-10", "2027-11-10"},
		"11 nov":                  {"2027-11-11", "2026-11-11", "2027-11-11"},
		"29 feb":                  {"2028-02-29", "2024-02-29", ""},
		"29 feb 2028":             {"2028-02-29", "2028-02-29", "2028-02-29"},
		"today":                   {"2027-11-10", "2027-11-10", "2027-11-10"},
		"Tomorrow":                {"2027-11-11", "2027-11-11", "2027-11-11"},
		"yesterday":               {"2027-11-09", "2027-11-09", "2027-11-09"},
		"friday":                  {"2027-11-12", "2027-11-05", "2027-11-12"},
		"fri":                     {"2027-11-12", "2027-11-05", "2027-11-12"},
		"wednesday":               {"2027-11-10", "2027-11-10", "2027-11-10"},
		"next wednesday":          {"2027-11-17", "2027-11-17", "2027-11-17"},
		"last wednesday":          {"2027-11-03", "2027-11-03", "2027-11-03"},
		"next friday":             {"2027-11-12", "2027-11-12", "2027-11-12"},
		"last friday":             {"2027-11-05", "2027-11-05", "2027-11-05"},
		"this friday":             {"2027-11-12", "2027-11-12", "2027-11-12"},
		"next week":               {"2027-11-17", "2027-11-17", "2027-11-17"},
		"in 3 weeks":              {"2027-12-01", "2027-12-01", "2027-12-01"},
		"in 10 days":              {"2027-11-20", "2027-11-20", "2027-11-20"},
		"in a fortnight":          {"2027-11-24", "2027-11-24", "2027-11-24"},
		"3 weeks ago":             {"2027-10-20", "2027-10-20", "2027-10-20"},
		"two months ago":          {"2027-09-10", "2027-09-10", "2027-09-10"},
		"in 1 year":               {"2028-11-10", "2028-11-10", "2028-11-10"},
		"week 45":                 {"2027-11-08", "2027-11-08", "2027-11-08"},
		"week 44":                 {"2028-10-30", "2027-11-01", "2027-11-01"},
		"w46":                     {"2027-11-15", "2026-11-09", "2027-11-15"},
		"2027-W45":                {"2027-11-08", "2027-11-08", "2027-11-08"},
		"week 45 of 2028":         {"2028-11-06", "2028-11-06", "2028-11-06"},
		"week 53 2026":            {"2026-12-28", "2026-12-28", "2026-12-28"},
		"week 53":                 {"2032-12-27", "2026-12-28", ""},
		"week 1 2027":             {"2027-01-04", "2027-01-04", "2027-01-04"},
		"all saints":              {"2028-11-01", "2027-11-01", "2027-11-01"},
		"All Saints' Day 2030":    {"2030-11-01", "2030-11-01", "2030-11-01"},
		"thanksgiving":            {"2027-11-25", "2026-11-26", "2027-11-25"},
		"Advent Sunday":           {"2027-11-28", "2026-11-29", "2027-11-28"},
		"advent 2026":             {"2026-11-29", "2026-11-29", "2026-11-29"},
		"christmas day":           {"2027-12-25", "2026-12-25", "2027-12-25"},
		"christmas 28":            {"2028-12-25", "2028-12-25", "2028-12-25"},
	} {
		for sense, day := range map[calendar.Sense]string{
			calendar.Planned: want.planned, calendar.Done: want.done, calendar.Running: want.running,
		} {
			got, err := calendar.Reader{Today: today}.Read(text, sense)
			if day == "" {
				require.Equal(t, fault.Unclear, fault.KindOf(err), "%q %d", text, sense)
				continue
			}
			require.NoError(t, err, text)
			require.Equal(t, day, got.String(), "%q %d", text, sense)
		}
	}
}

func TestReadMonthFirst(t *testing.T) {
	t.Parallel()
	reader := calendar.Reader{Today: today, MonthFirst: true}
	for text, want := range map[string]string{
		"5/11":       "2028-05-11",
		"5/11/27":    "2027-05-11",
		"11-5-2027":  "2027-11-05",
		"2027-11-05": "2027-11-05",
		"5 nov 2027": "2027-11-05",
	} {
		got, err := reader.Read(text, calendar.Planned)
		require.NoError(t, err, text)
		require.Equal(t, want, got.String(), text)
	}
}

func TestReadMothersDay(t *testing.T) {
	t.Parallel()
	south := calendar.Reader{Today: today, South: true}
	got, err := south.Read("Mother’s Day", calendar.Planned)
	require.NoError(t, err)
	require.Equal(t, "2028-05-14", got.String())

	_, err = calendar.Reader{Today: today}.Read("mother's day", calendar.Planned)
	require.Equal(t, fault.Unclear, fault.KindOf(err))
	require.ErrorContains(t, err, "write 2028-05-14")
}

func TestReadAcrossLongGaps(t *testing.T) {
	t.Parallel()
	reader := calendar.Reader{Today: calendar.DayOf(2100, time.June, 1)}
	for sense, want := range map[calendar.Sense]string{calendar.Planned: "2104-02-29", calendar.Done: "2096-02-29"} {
		got, err := reader.Read("29 feb", sense)
		require.NoError(t, err)
		require.Equal(t, want, got.String())
	}
	end := calendar.Reader{Today: calendar.DayOf(2027, time.August, 31)}
	for text, want := range map[string]string{"in 6 months": "2028-02-29", "18 months ago": "2026-02-28", "in 3 months": "2027-11-30"} {
		got, err := end.Read(text, calendar.Planned)
		require.NoError(t, err)
		require.Equal(t, want, got.String(), text)
	}
}

// A refusal says what was probably meant, or how to write it.
func TestReadRefuses(t *testing.T) {
	t.Parallel()
	for text, says := range map[string]string{
		"":                    "write it like",
		"soon":                "write it like",
		"5":                   "write it like",
		"nov":                 "write it like",
		"nov 2027":            "write it like",
		"5 nov 6 dec":         "write it like",
		"5 nov 123":           "write it like",
		"0000-11-05":          "write it like",
		"christmas eve":       "write it like",
		"31 nov":              "November has 30 days; write 30 nov or 1 dec.",
		"31/11":               "November has 30 days; write 30 nov or 1 dec.",
		"32 dec 2027":         "December 2027 has 31 days; write 31 dec 2027 or 1 jan 2028.",
		"29 feb 2027":         "February 2027 has 28 days; write 28 feb 2027 or 1 mar 2027.",
		"2100-02-29":          "February 2100 has 28 days",
		"30 feb":              "February has 29 days",
		"0 nov":               "write 1 nov",
		"5/13":                "if day and month are exchanged, write 13 may.",
		"2027-13-05":          "write 13 may 2027.",
		"31-02-2027":          "write 28 feb 2027",
		"2/31/2027":           "There is no month 31; write the day like",
		"13/13":               "write the day like",
		"5/0":                 "There is no month 0",
		"thu 5 nov 2027":      "Fri 5 Nov 2027 is not a Thursday",
		"3 weeks":             "write in 3 weeks or 3 weeks ago",
		"week 54":             "no week 54",
		"week 0":              "no week 0",
		"2027-W53":            "write week 52 2027 or week 1 2028",
		"5 nov 1899":          "1900 to 2199",
		"2200-01-01":          "1900 to 2199",
		"in 9999 years":       "1900 to 2199",
		"9999 years ago":      "1900 to 2199",
		"in 99999999 days":    "write it like",
		"5 nov \x00\n`*_2027": "write it like",
	} {
		_, err := calendar.Reader{Today: today}.Read(text, calendar.Planned)
		require.Equal(t, fault.Unclear, fault.KindOf(err), text)
		require.ErrorContains(t, err, says, text)
	}
}

func TestReadAnnual(t *testing.T) {
	t.Parallel()
	may := calendar.Annual{Month: time.May, Day: 15}
	for text, want := range map[string]calendar.Annual{
		"15 may": may, "May 15th": may, "15/5": may, "15.5.": may, "05-15": may, "NONE": {},
		"29 feb": {Month: time.February, Day: 29}, "06-05": {Month: time.June, Day: 5}, "6-5": {Month: time.May, Day: 6},
	} {
		got, err := calendar.Reader{}.ReadAnnual(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	got, err := calendar.Reader{MonthFirst: true}.ReadAnnual("5/6")
	require.NoError(t, err)
	require.Equal(t, calendar.Annual{Month: time.May, Day: 6}, got)

	for text, says := range map[string]string{
		"":            "15 may or 05-15",
		"friday":      "15 may or 05-15",
		"15 may 2027": "such as 15 may",
		"fri 15 may":  "such as 15 may",
		"31 jun":      "June has 30 days; write 30 jun or 1 jul.",
		"15-05":       "write 15 may",
	} {
		_, err := calendar.Reader{}.ReadAnnual(text)
		require.Equal(t, fault.Unclear, fault.KindOf(err), text)
		require.ErrorContains(t, err, says, text)
	}
}

// Advent and Thanksgiving as trade.md section 5 has them: the fourth Sunday before Christmas, the fourth Thursday of November.
func TestSales(t *testing.T) {
	t.Parallel()
	for year, want := range map[int]string{2026: "2026-11-29", 2027: "2027-11-28", 2028: "2028-12-03"} {
		require.Equal(t, want, calendar.Advent.In(year).String())
	}
	for year := 1900; year < 2200; year++ {
		require.Equal(t, time.Sunday, calendar.Advent.In(year).Weekday())
		require.Equal(t, 3, (calendar.Christmas.In(year).Sub(calendar.Advent.In(year))-1)/7, year)
		thanksgiving := calendar.Thanksgiving.In(year)
		require.Equal(t, time.Thursday, thanksgiving.Weekday())
		_, month, day := thanksgiving.Date()
		require.Equal(t, time.November, month)
		require.Equal(t, 3, (day-1)/7, year)
	}
	for _, south := range []bool{false, true} {
		for _, sale := range calendar.Sales(south) {
			got, err := calendar.Reader{Today: today, South: south}.Read(string(sale), calendar.Running)
			require.NoError(t, err)
			require.Equal(t, sale.In(2027), got, sale)
		}
	}
}

// What was read is echoed, and the echo means the same day in every sense.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{"2027-11-05", "5 nov", "fri 5 nov 27", "5/11", "next friday", "in 3 weeks", "2 months ago", "week 45 2027",
		"2027-W53", "all saints 2028", "mother's day", "29 feb", "31.12.", "nov 2027", "w1", "5\u00a0nov", "٥ nov"} {
		for sense := range uint8(3) {
			f.Add(seed, sense, false)
		}
	}
	f.Fuzz(func(t *testing.T, text string, sense uint8, other bool) {
		reader := calendar.Reader{Today: today, MonthFirst: other, South: other}
		if annual, err := reader.ReadAnnual(text); err == nil && !annual.IsZero() {
			read, err := reader.ReadAnnual(annual.String())
			require.NoError(t, err)
			require.Equal(t, annual, read)
		}
		day, err := reader.Read(text, calendar.Sense(sense%3))
		if err != nil {
			require.Equal(t, fault.Unclear, fault.KindOf(err))
			return
		}
		for _, echo := range []string{day.String(), day.Long()} {
			for again := calendar.Planned; again <= calendar.Running; again++ {
				read, err := reader.Read(echo, again)
				require.NoError(t, err)
				require.Equal(t, day, read)
			}
		}
	})
}
