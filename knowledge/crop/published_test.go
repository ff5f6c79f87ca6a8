package crop_test

import (
	"encoding/csv"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

type published struct{ done, followed calendar.Day }

// growing reads the published cases; their sources stand at the top of the file.
func growing(t *testing.T) map[string]published {
	file, err := os.Open("../../testdata/published/growing.csv")
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	require.NoError(t, err)
	cases := map[string]published{}
	for _, line := range lines[1:] {
		var p published
		require.NoError(t, p.done.UnmarshalText([]byte(line[1])))
		require.NoError(t, p.followed.UnmarshalText([]byte(line[2])))
		cases[line[0]] = p
	}
	return cases
}

func holds(t *testing.T, w calendar.Window, d calendar.Day) {
	t.Helper()
	require.True(t, w.Contains(d), "%s is not in %s … %s", d, w.Earliest, w.Latest)
}

func at(lat, lon float64) place.Place {
	return place.Place{Point: place.Point{Lat: lat, Lon: lon}, Zone: "UTC", Exact: true}
}

func day(text string) calendar.Day {
	d, err := calendar.ParseDay(text)
	if err != nil {
		panic(err)
	}
	return d
}

func section(n int) variety.Variety { return variety.Variety{Section: variety.Section{Number: n}} }

func stepOf(t *testing.T, p crop.Plan, k crop.Kind) crop.Step {
	t.Helper()
	for _, s := range p.Steps {
		if s.Kind == k {
			return s
		}
	}
	require.Fail(t, "no such step", "%s in %v", k, p)
	return crop.Step{}
}

func TestPublishedWaking(t *testing.T) {
	t.Parallel()
	of := growing(t)
	woken := calendar.On(of["evergreen-cut"].done)
	holds(t, crop.CutAfter(woken, place.Place{}).Window, of["evergreen-cut"].followed)
	steps := crop.WakeFor(calendar.On(of["evergreen-cut"].followed), place.Place{})
	require.Equal(t, crop.WakeWater, steps[0].Kind)
	holds(t, steps[1].Window, of["evergreen-cut"].done)
	require.Equal(t, steps[1].Window.Likely.Add(-1), steps[0].Window.Likely, "watered the evening before")

	plan := crop.Backwards(crop.Case{Variety: section(3), Place: at(47.6, -122), Wanted: crop.Target{From: day("2027-11-05"), To: day("2027-11-05")}}, day("2026-11-01"))
	wake, chill := stepOf(t, plan, crop.Wake).Window.Likely, stepOf(t, plan, crop.Chill).Window
	holds(t, chill, wake.Add(-of["evergreen-cold"].done.Sub(of["evergreen-cold"].followed)))
}

func TestPublishedControlledSchedules(t *testing.T) {
	t.Parallel()
	of := growing(t)
	for _, year := range []string{"1954", "1955"} {
		short := of["cathey-"+year+"-pinch"].done
		bloom := short.Add(70)
		p := at(42.4, -76.5)
		p.BlackOut = true
		plan := crop.Backwards(crop.Case{Variety: variety.Variety{Response: 10}, Place: p, Wanted: crop.Target{From: bloom, To: bloom, Way: crop.Shaded},
			Done: []crop.Done{{Kind: crop.BlackOut, On: short}}}, short)
		stop := crop.Backwards(crop.Case{Variety: variety.Variety{Response: 10}, Place: p, Wanted: crop.Target{From: bloom, To: bloom, Way: crop.Shaded}}, short.Add(-120))
		require.True(t, stepOf(t, plan, crop.BlackOut).Done)
		holds(t, stepOf(t, stop, crop.Stop).Window, of["cathey-"+year+"-pinch"].followed)
		holds(t, stepOf(t, stop, crop.PlantOut).Window, of["cathey-"+year+"-plant"].followed)
	}
	fast := crop.Forwards(crop.Case{Variety: variety.Variety{Response: 10}, Place: at(39.7, -105), Done: []crop.Done{{Kind: crop.BlackOut, On: of["colorado-first"].done}}}, of["colorado-first"].done)
	require.Equal(t, crop.ShortDays, fast.Basis)
	holds(t, fast.Window, of["colorado-first"].followed)
	holds(t, fast.Window, of["colorado-last"].followed)
}

func TestPublishedNaturalSeason(t *testing.T) {
	t.Parallel()
	of := growing(t)
	late := crop.Forwards(crop.Case{Variety: section(9), Place: at(52, 0), Done: []crop.Done{{Kind: crop.Stop, On: of["late-stop"].done}}}, of["late-stop"].done)
	holds(t, late.Window, of["late-stop"].followed)

	south := crop.Forwards(crop.Case{Variety: section(3), Place: at(-43.5, 172.6)}, day("1930-01-10"))
	holds(t, south.Window, of["press-first"].followed)
	holds(t, south.Window, of["press-last"].followed)

	colour := crop.Forwards(crop.Case{Variety: section(25), Place: at(52, 0), Done: []crop.Done{{Kind: crop.BudColour, On: of["colour-first"].done}}}, of["colour-first"].done)
	require.Equal(t, of["colour-first"].followed, colour.Window.Earliest)
	require.Equal(t, of["colour-last"].followed, colour.Window.Latest)
	require.Equal(t, crop.Colour, colour.Basis)
}

// Victoria cuts from July to September (Chrysanthemum Society of Victoria, Month by Month).
func TestPublishedSouthernCuttings(t *testing.T) {
	t.Parallel()
	for _, n := range []int{3, 13, 25} {
		plan := crop.Backwards(crop.Case{Variety: section(n), Place: at(-37.8, 145), Done: []crop.Done{{Kind: crop.Box, On: day("2027-06-01")}}}, day("2027-06-10"))
		require.Contains(t, []time.Month{time.July, time.August, time.September}, stepOf(t, plan, crop.Cut).Window.Likely.Annual().Month)
	}
}

// One clone, five weeks apart, for which day length has no explanation: the answer must warn and be wide.
func TestPublishedClonePlacesCannotBeToldApart(t *testing.T) {
	t.Parallel()
	of := growing(t)
	clone := variety.Variety{Natural: variety.Natural{On: day("1992-08-26").Annual(), Lat: 36.7}}
	cool := crop.Forwards(crop.Case{Variety: clone, Place: at(36.7, -121.8)}, day("1992-06-20"))
	holds(t, cool.Window, of["clone-cool-first"].followed)
	holds(t, cool.Window, of["clone-cool-last"].followed)
	require.Empty(t, cool.Warnings)
	hot := crop.Forwards(crop.Case{Variety: clone, Place: at(40.3, -75)}, day("1992-06-20"))
	holds(t, hot.Window, of["clone-hot-first"].followed)
	holds(t, hot.Window, of["clone-hot-last"].followed)
	require.Contains(t, hot.Warnings[0], "8,756")
}

func TestPublishedLastSafeStops(t *testing.T) {
	t.Parallel()
	of := growing(t)
	cold := at(40, -105)
	cold.FirstFrost = calendar.Annual{Month: time.September, Day: 10}
	cases := []struct {
		name    string
		variety variety.Variety
		place   place.Place
	}{{"safe-large", section(1), at(40, -122)}, {"safe-late-small", section(8), at(40, -122)}, {"safe-cold", section(8), cold}}
	for _, c := range cases {
		plan := crop.Backwards(crop.Case{Variety: c.variety, Place: c.place}, day("2009-01-10"))
		require.Equal(t, of[c.name].followed, stepOf(t, plan, crop.Stop).LastSafe, c.name)
		require.Equal(t, of[c.name].followed, crop.LastSafeStop(crop.Case{Variety: c.variety, Place: c.place}, day("2009-07-01")), c.name)
	}
}

// Post lit from 15 August at 42.4° N (N.Y. State Flower Growers Bull. 9, 1946).
func TestPublishedNightLighting(t *testing.T) {
	t.Parallel()
	p := at(42.4, -76.5)
	p.Lights, p.Cover = true, true
	v := section(9)
	v.Response = 9
	plan := crop.Backwards(crop.Case{Variety: v, Place: p, Wanted: crop.Target{From: day("2027-12-20"), To: day("2027-12-20")}}, day("2027-01-10"))
	require.Equal(t, crop.Lit, plan.Way)
	holds(t, stepOf(t, plan, crop.Light).Window, day("2027-08-15"))
	require.Equal(t, day("2027-10-18"), stepOf(t, plan, crop.LightEnd).Window.Likely, "9 weeks before the bloom")
	require.Equal(t, "22:00–02:00", stepOf(t, plan, crop.Light).Clock, "usual practice: Runkle, MSU 2007")
}
