package daylight_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/daylight"
	"shortday/knowledge/place"
)

// Rise, set and length to 10 s and civil length to 15 s against an ephemeris library, the accuracy checks name for this series.
func TestEphemeris(t *testing.T) {
	t.Parallel()
	for _, row := range published(t, "daylength.csv") {
		p, day := place.Point{Lat: number(t, row["lat"]), Lon: number(t, row["lon"])}, dayOf(t, row["date"])
		light := daylight.On(p, day, daylight.Sunrise)
		civil := daylight.On(p, day, daylight.Civil)
		for _, event := range []struct {
			column string
			got    time.Time
			within time.Duration
		}{
			{"sunrise_utc", light.Rise, 10 * time.Second},
			{"sunset_utc", light.Set, 10 * time.Second},
		} {
			want, err := time.Parse(time.RFC3339, row[event.column])
			require.NoError(t, err)
			require.WithinDuration(t, want, event.got, event.within, "%s %v", event.column, row)
		}
		require.InDelta(t, number(t, row["daylength_min"]), light.Hours*60, 10.0/60, row)
		require.InDelta(t, number(t, row["civil_daylength_min"]), civil.Hours*60, 15.0/60, row)
		require.Equal(t, time.UTC, light.Rise.Location())
	}
}

// The very days on which the length is crossed; one day off is allowed only where the nearer length lies within 0.25 min.
func TestEphemerisCrossings(t *testing.T) {
	t.Parallel()
	columns := map[daylight.Season][3]string{
		daylight.Spring: {"spring_date", "spring_prev_min", "spring_min"},
		daylight.Autumn: {"autumn_date", "autumn_prev_min", "autumn_min"},
	}
	kinds := map[string]daylight.Definition{"day": daylight.Sunrise, "civil": daylight.Civil}
	for _, row := range published(t, "crossings.csv") {
		p, hours := place.Point{Lat: number(t, row["lat"])}, number(t, row["threshold_h"])
		for season, column := range columns {
			got, ok := daylight.Crossing(p, hours, season, 2027, kinds[row["kind"]])
			require.True(t, ok, row)
			allowed := 0
			for _, minutes := range column[1:] {
				if math.Abs(number(t, row[minutes])-hours*60) <= 0.25 {
					allowed = 1
				}
			}
			require.InDelta(t, int(dayOf(t, row[column[0]])), int(got), float64(allowed), "%s %v: %s", season, row, got)
		}
	}
}

// FAO-56 has no refraction and its own declination, equation 24, so that hours from declination are what can be compared.
func TestFAO56(t *testing.T) {
	t.Parallel()
	for _, row := range published(t, "fao56.csv") {
		month, day := int(number(t, row["month"])), int(number(t, row["day"]))
		j := float64(calendar.DayOf(2027, time.Month(month), day).Sub(calendar.DayOf(2026, time.December, 31)))
		declination := 0.409 * math.Sin(2*math.Pi*j/365-1.39)
		got := daylight.HoursOf(number(t, row["lat"])*math.Pi/180, declination)
		require.InDelta(t, number(t, row["hours"]), got, 0.06, row)
	}
}

// Local mean time at longitude 0 is UTC; the table is to the minute.
func TestPublishedSunrise(t *testing.T) {
	t.Parallel()
	newYear := calendar.DayOf(2002, time.January, 1)
	for _, row := range published(t, "sunrise.csv") {
		want, err := time.Parse("15:04", row["sunrise"])
		require.NoError(t, err)
		got := daylight.On(place.Point{Lat: number(t, row["lat"])}, newYear, daylight.Sunrise).Rise
		require.WithinDuration(t, newYear.UTC().Add(want.Sub(want.Truncate(24*time.Hour))), got, time.Minute, row)
	}
}

func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open("../../testdata/published/" + name)
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(lines), 1)
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, column := range lines[0] {
			row[column] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	n, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return n
}

func dayOf(t *testing.T, text string) calendar.Day {
	t.Helper()
	day, err := calendar.ParseDay(text)
	require.NoError(t, err)
	return day
}
