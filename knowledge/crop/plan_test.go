package crop_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

var sections = rapid.SampledFrom([]int{1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 20, 23, 25, 27, 29})

func anyPlace(t *rapid.T) place.Place {
	lat := rapid.Float64Range(34, 60).Draw(t, "lat")
	if rapid.Bool().Draw(t, "south") {
		lat = -lat
	}
	p := at(lat, 0)
	p.Cover = true
	p.BottomHeat = rapid.Bool().Draw(t, "bottom heat")
	return p
}

func anyVariety(t *rapid.T) variety.Variety {
	v := section(sections.Draw(t, "section"))
	if rapid.Bool().Draw(t, "natural") {
		v.Natural = variety.Natural{On: calendar.DayOf(2001, 1, rapid.IntRange(250, 325).Draw(t, "bloom")).Annual(), Lat: rapid.Float64Range(40, 55).Draw(t, "from")}
	}
	return v
}

func TestPlanThenForecastReturnsToTheTarget(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := crop.Case{Variety: anyVariety(t), Place: anyPlace(t)}
		today := day("2027-01-01")
		own := crop.Forwards(c, today).Window.Likely
		aim := own.Add(rapid.IntRange(-7, 7).Draw(t, "off"))
		c.Wanted = crop.Target{From: aim, To: aim, Way: crop.Natural}
		plan := crop.Backwards(c, today)
		if plan.Refusal != nil {
			return
		}
		stop := likely(plan, crop.Stop)
		forecast := crop.Forwards(crop.Case{Variety: c.Variety, Place: c.Place, Done: []crop.Done{{Kind: crop.Stop, On: stop}}}, today)
		require.Equal(t, plan.Bloom.Window, forecast.Window)
		require.LessOrEqual(t, abs(aim.Sub(forecast.Window.Likely)), 10, "within what a held bud gains")
	})
}

func TestLaterStopNeverBloomsEarlier(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := crop.Case{Variety: anyVariety(t), Place: anyPlace(t), Setting: crop.Setting{StopShift: rapid.Float64Range(0, 1).Draw(t, "shift")}}
		for range rapid.IntRange(0, 4).Draw(t, "records") {
			bloomed := calendar.DayOf(2026, 9, rapid.IntRange(1, 80).Draw(t, "bloomed"))
			c.Records = append(c.Records, crop.Record{Own: true, Bloomed: bloomed, Stopped: bloomed.Add(-rapid.IntRange(90, 180).Draw(t, "took")), Lat: c.Place.Lat})
		}
		usual := likely(crop.Backwards(c, day("2027-01-01")), crop.Stop)
		last := calendar.Day(0)
		for off := -40; off <= 80; off += 3 {
			c.Done = []crop.Done{{Kind: crop.Stop, On: usual.Add(off)}}
			bloom := crop.Forwards(c, day("2027-01-01")).Window.Likely
			require.GreaterOrEqual(t, bloom, last)
			last = bloom
		}
	})
}

func TestStepsAreWindowsInOrderAndUnlikeEachOther(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := anyPlace(t)
		p.BlackOut, p.Lights = rapid.Bool().Draw(t, "black-out"), rapid.Bool().Draw(t, "lights")
		c := crop.Case{Variety: anyVariety(t), Place: p}
		c.Variety.Response = float64(rapid.IntRange(12, 30).Draw(t, "response")) / 2
		aim := day("2027-01-01").Add(rapid.IntRange(180, 365).Draw(t, "aim"))
		c.Wanted = crop.Target{From: aim, To: aim.Add(rapid.IntRange(0, 14).Draw(t, "days"))}
		stepsAreWindows(t, c, crop.Backwards(c, day("2027-01-01")))
	})
}

// What the property above found once: at 34.875° S the length by which buds are set is passed at the turn of the year.
func TestStepsAreWindowsAcrossTheYearsEnd(t *testing.T) {
	t.Parallel()
	for _, lit := range []struct {
		lat            float64
		section, weeks int
		aim, days      int
	}{
		{-34.875, 1, 6, 245, 6}, {-34.875, 1, 12, 245, 6}, {-34.875, 25, 12, 245, 0}, {-36, 1, 6, 245, 6}, {-34, 1, 15, 300, 0},
	} {
		p := at(lit.lat, 0)
		p.Cover, p.Lights = true, true
		c := crop.Case{Variety: section(lit.section), Place: p}
		c.Variety.Response = float64(lit.weeks)
		aim := day("2027-01-01").Add(lit.aim)
		c.Wanted = crop.Target{From: aim, To: aim.Add(lit.days)}
		plan := crop.Backwards(c, day("2027-01-01"))
		require.Equal(t, crop.Lit, plan.Way)
		stepsAreWindows(t, c, plan)
	}
}

func stepsAreWindows(t require.TestingT, c crop.Case, plan crop.Plan) {
	seen := map[crop.Kind]bool{}
	for _, s := range plan.Steps {
		require.False(t, seen[s.Kind], "%s twice", s.Kind)
		seen[s.Kind] = true
		require.LessOrEqual(t, s.Window.Earliest, s.Window.Likely, s.Kind)
		require.LessOrEqual(t, s.Window.Likely, s.Window.Latest, s.Kind)
		require.NotEmpty(t, s.Rule, s.Kind)
		require.Equal(t, s.LastSafe == 0, s.Lost == "", s.Kind)
	}
	if plan.Refusal != nil {
		require.Empty(t, plan.Steps)
		require.NotZero(t, plan.Refusal.Nearest)
	}
	require.False(t, plan.Way == crop.Shaded && !c.Place.BlackOut, "black-out only where the place has it")
	require.False(t, plan.Way == crop.Lit && !c.Place.Lights, "lights only where the place has them")
	for _, s := range plan.Steps {
		if s.Kind == crop.Light {
			require.Less(t, s.Window.Likely, likely(plan, crop.LightEnd))
			require.GreaterOrEqual(t, s.Window.Latest, likely(plan, crop.Strike), "nothing is lit before it is struck")
		}
	}
}

// Doing every step on its day moves nothing that follows.
func TestDoneAsPlannedMovesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := crop.Case{Variety: anyVariety(t), Place: anyPlace(t)}
		today := day("2027-01-01")
		if c.Place.South() {
			today = day("2026-07-01")
		}
		aim := crop.Forwards(c, today).Window.Likely
		c.Wanted = crop.Target{From: aim, To: aim}
		before := crop.Backwards(c, today)
		for _, s := range before.Steps {
			c.Done = append(c.Done, crop.Done{Kind: s.Kind, On: s.Window.Likely})
			after := crop.Backwards(c, today)
			for _, open := range after.Steps {
				if !open.Done {
					require.Equal(t, likely(before, open.Kind), open.Window.Likely, "%s moved by %s", open.Kind, s.Kind)
				}
			}
			require.Empty(t, after.Missed)
		}
	})
}

func TestLateStopMovesWhatFollows(t *testing.T) {
	t.Parallel()
	c := crop.Case{Variety: section(9), Place: at(52, 0), Wanted: crop.Target{From: day("2027-11-15"), To: day("2027-11-15")}}
	c.Place.Cover = true
	before := crop.Backwards(c, day("2027-01-10"))
	c.Done = []crop.Done{{Kind: crop.Stop, On: likely(before, crop.Stop).Add(7)}}
	after := crop.Backwards(c, day("2027-07-01"))
	require.Equal(t, 3, likely(after, crop.Pick).Sub(likely(before, crop.Pick)), "0.4 days a day, from memory")
	require.Equal(t, 3, likely(after, crop.BudColour).Sub(likely(before, crop.BudColour)))
	require.Equal(t, likely(before, crop.FinalPot), likely(after, crop.FinalPot))
	require.Zero(t, likely(after, crop.Strike), "plants that are stopped have been struck")
}

func TestEvidenceRanksAndNarrows(t *testing.T) {
	t.Parallel()
	c := crop.Case{Variety: section(9), Place: at(52, 0)}
	today := day("2027-06-01")
	width := func() (crop.Basis, int) {
		f := crop.Forwards(c, today)
		return f.Basis, f.Window.Latest.Sub(f.Window.Earliest)
	}
	_, nothing := crop.Forwards(crop.Case{Place: c.Place}, today), 0
	require.Zero(t, nothing)
	basis, class := width()
	require.Equal(t, crop.ClassOnly, basis)
	c.Variety.Natural = variety.Natural{On: day("2027-11-08").Annual(), Lat: 52}
	basis, natural := width()
	require.Equal(t, crop.NaturalDay, basis)
	c.Variety.Stops = []variety.Stop{{On: day("2027-06-07").Annual(), Bloom: day("2027-11-06").Annual(), Lat: 52}}
	basis, key := width()
	require.Equal(t, crop.StopKey, basis)
	c.Records = []crop.Record{{Bloomed: day("2026-11-10"), Lat: 52}}
	basis, coop := width()
	require.Equal(t, crop.CoopRecords, basis)
	c.Records = append(c.Records, crop.Record{Own: true, Bloomed: day("2025-11-12"), Lat: 52}, crop.Record{Own: true, Bloomed: day("2026-11-14"), Lat: 52})
	basis, own := width()
	require.Equal(t, crop.OwnRecords, basis)
	require.Equal(t, day("2027-11-13"), crop.Forwards(c, today).Window.Likely)
	require.Greater(t, class, natural)
	require.Greater(t, natural, key)
	require.Greater(t, coop, own)
	require.Greater(t, key, own)
}

func TestNothingKnownSaysSo(t *testing.T) {
	t.Parallel()
	f := crop.Forwards(crop.Case{}, day("2027-03-01"))
	require.Equal(t, crop.Nothing, f.Basis)
	require.True(t, f.Window.IsZero())
	require.Contains(t, f.Why, "nothing")
	f = crop.Forwards(crop.Case{Done: []crop.Done{{Kind: crop.Stop, On: day("2027-06-01")}}}, day("2027-06-02"))
	require.Equal(t, day("2027-06-01").Add(112), f.Window.Earliest)
	require.Equal(t, day("2027-06-01").Add(161), f.Window.Latest)
}

func TestTargetsThatCannotBeMet(t *testing.T) {
	t.Parallel()
	p := at(52, 0)
	early := func(p place.Place, v variety.Variety, aim string, way crop.Way) crop.Plan {
		return crop.Backwards(crop.Case{Variety: v, Place: p, Wanted: crop.Target{From: day(aim), To: day(aim), Way: way}}, day("2027-01-10"))
	}
	plan := early(p, section(9), "2027-08-10", crop.AnyWay)
	require.Contains(t, plan.Refusal.Why, "black-out")
	require.Empty(t, plan.Steps)
	require.Nil(t, early(p, section(9), plan.Refusal.Nearest.String(), crop.AnyWay).Refusal, "the nearest day does work")
	plan = early(p, section(25), "2027-12-10", crop.AnyWay)
	require.Contains(t, plan.Refusal.Why, "night lights")
	require.Nil(t, early(p, section(25), plan.Refusal.Nearest.String(), crop.AnyWay).Refusal)
	plan = early(p, section(9), "2027-11-10", crop.Shaded)
	require.Contains(t, plan.Refusal.Why, "no black-out")
	require.Equal(t, day("2027-11-10"), plan.Refusal.Nearest)
	p.FirstFrost = calendar.Annual{Month: 10, Day: 5}
	plan = early(p, section(9), "2027-11-15", crop.AnyWay)
	require.Contains(t, plan.Refusal.Why, "first frost")
	p.Cover = true
	require.Nil(t, early(p, section(9), "2027-11-15", crop.AnyWay).Refusal)
}

func TestMissedSaysWhatStillCanBeDone(t *testing.T) {
	t.Parallel()
	p := at(52, 0)
	p.Cover = true
	c := crop.Case{Variety: section(9), Place: p, Wanted: crop.Target{From: day("2027-11-15"), To: day("2027-11-15")}}
	require.Empty(t, crop.Backwards(c, day("2027-02-01")).Missed)
	require.Contains(t, crop.Backwards(c, day("2027-06-20")).Missed, "rooted plants")
	c.Done = []crop.Done{{Kind: crop.PlantOut, On: day("2027-05-20")}}
	require.Empty(t, crop.Backwards(c, day("2027-06-20")).Missed)
	require.Contains(t, crop.Backwards(c, day("2027-09-20")).Missed, "last safe stop")
}

func TestClimateDelays(t *testing.T) {
	t.Parallel()
	number := func(x float64) *float64 { return &x }
	p := at(45, 0)
	bloom := func(c crop.Climate, on string) crop.Forecast {
		return crop.Forwards(crop.Case{Variety: variety.Variety{Response: 10}, Place: p, Climate: c, Done: []crop.Done{{Kind: crop.BlackOut, On: day(on)}}}, day(on))
	}
	cool := bloom(crop.Climate{Mean: number(20)}, "2027-06-01").Window.Likely
	require.Equal(t, day("2027-06-01").Add(70), cool)
	require.Equal(t, 7, bloom(crop.Climate{Mean: number(25)}, "2027-06-01").Window.Likely.Sub(cool), "2 °C at 2.8 to 4.2 days each")
	require.Equal(t, 12, bloom(crop.Climate{Mean: number(9.6)}, "2027-06-01").Window.Likely.Sub(cool), "20.5 against 8.5 days (Adams et al. 1998)")
	require.Equal(t, 14, bloom(crop.Climate{Night: number(24)}, "2027-06-01").Window.Likely.Sub(cool), "1 to 3 weeks (Purdue 2010)")
	require.Equal(t, 21, bloom(crop.Climate{Mean: number(20), Light: number(15)}, "2027-06-01").Window.Likely.Sub(cool), "10 weeks become 13 (Acta Hort. 22, 1971)")
	require.Contains(t, bloom(crop.Climate{}, "2027-06-01").Warnings[0], "cannot be known without temperatures")
	require.Contains(t, bloom(crop.Climate{}, "2027-12-01").Warnings[0], "dark months")
}

func TestBlackOutNamesBothEnds(t *testing.T) {
	t.Parallel()
	p := at(52, 0)
	p.BlackOut = true
	v := section(9)
	v.Response = 9
	plan := crop.Backwards(crop.Case{Variety: v, Place: p, Wanted: crop.Target{From: day("2027-08-02"), To: day("2027-08-02")}}, day("2027-01-10"))
	start, end := stepOf(t, plan, crop.BlackOut), stepOf(t, plan, crop.BlackOutEnd)
	require.Equal(t, "17:00–07:00", start.Clock, "K. Post 1946")
	holds(t, end.Window, start.Window.Likely.Add(28))
	holds(t, end.Window, likely(plan, crop.BudColour))
	require.Contains(t, end.Rule, "4 weeks")
}

// Leap days, the equator and the polar circle: an answer or a refusal, never a plan that makes no sense.
func TestExtremePlaces(t *testing.T) {
	t.Parallel()
	for _, lat := range []float64{0, 5, -5, 30, 65, -65} {
		for _, n := range []int{9, 13, 25} {
			plan := crop.Backwards(crop.Case{Variety: section(n), Place: at(lat, 0), Done: []crop.Done{{Kind: crop.Box, On: day("2028-02-29")}}}, day("2028-02-29"))
			for i := 1; i < len(plan.Steps); i++ {
				require.LessOrEqual(t, plan.Steps[i-1].Window.Likely, plan.Steps[i].Window.Likely)
			}
			require.False(t, plan.Bloom.Window.IsZero())
		}
	}
	plan := crop.Backwards(crop.Case{Variety: section(9), Place: at(0, 0)}, day("2028-02-29"))
	require.Contains(t, strings.Join(plan.Warnings, " "), "Every day of the year is shorter than 13.5 h here")
}

func TestKindsAreReadAsTyped(t *testing.T) {
	t.Parallel()
	for _, k := range crop.Kinds() {
		for _, text := range []string{string(k), k.Phrase(false), k.Phrase(true)} {
			read, err := crop.ReadKind(text)
			require.NoError(t, err)
			require.Equal(t, k, read)
		}
	}
	_, err := crop.ReadKind("dance")
	require.ErrorContains(t, err, "no step called")
	require.Equal(t, "pinch", crop.Stop.Phrase(true))
}

func BenchmarkPlan(b *testing.B) {
	p := at(52, 0)
	p.Cover = true
	c := crop.Case{Variety: section(9), Place: p, Wanted: crop.Target{From: day("2027-11-05"), To: day("2027-11-05")}}
	c.Variety.Stops = []variety.Stop{{On: day("2027-06-07").Annual(), Bloom: day("2027-11-06").Annual(), Lat: 45}}
	b.ReportAllocs()
	for b.Loop() {
		crop.Backwards(c, day("2027-01-10"))
	}
}

func likely(p crop.Plan, k crop.Kind) calendar.Day {
	for _, s := range p.Steps {
		if s.Kind == k {
			return s.Window.Likely
		}
	}
	return 0
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// What is named as nearest does work, lies ahead, and is of the season wanted.
func TestNearestWorks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := crop.Case{Variety: anyVariety(t), Place: anyPlace(t)}
		today := day("2027-01-01").Add(rapid.IntRange(0, 330).Draw(t, "today"))
		from := today.Add(rapid.IntRange(1, 250).Draw(t, "from"))
		c.Wanted = crop.Target{From: from, To: from.Add(rapid.IntRange(0, 9).Draw(t, "days")), Way: crop.Natural}
		near, ok := crop.Nearest(c, today)
		if !ok {
			return
		}
		require.Greater(t, near.From, today)
		c.Wanted = near
		plan := crop.Backwards(c, today)
		require.Nil(t, plan.Refusal)
		require.Empty(t, plan.Missed)
	})
}

func TestNearestIsTheDayItselfWhereThatWorks(t *testing.T) {
	t.Parallel()
	c := crop.Case{Variety: section(9), Place: at(52, 0), Wanted: crop.Target{From: day("2027-11-15"), To: day("2027-11-15")}}
	near, ok := crop.Nearest(c, day("2027-02-01"))
	require.True(t, ok)
	require.Equal(t, c.Wanted.From, near.From)
	_, ok = crop.Nearest(c, day("2027-09-20"))
	require.False(t, ok, "nothing of this season can be stopped any more")
}

// Once the bloom was seen, nothing is said of what the evidence for it left open, and nothing that comes before it is due.
func TestASeenBloomEndsTheDoubt(t *testing.T) {
	t.Parallel()
	c := crop.Case{Variety: section(9), Place: at(52, 0), Wanted: crop.Target{From: day("2027-11-10"), To: day("2027-11-10")}, Done: []crop.Done{{Kind: crop.Stop, On: day("2027-06-10")}}}
	doubt := "Only the season class is known, which is a month wide: a dated stop, a natural bloom day or one recorded bloom makes this narrower."
	require.Contains(t, crop.Backwards(c, day("2027-11-01")).Warnings, doubt)
	c.Bloomed = day("2027-11-06")
	plan := crop.Backwards(c, day("2027-11-07"))
	require.NotContains(t, plan.Warnings, doubt)
	require.Equal(t, crop.Recorded, plan.Bloom.Basis)
	require.Empty(t, plan.Missed)
	require.Equal(t, calendar.On(c.Bloomed), stepOf(t, plan, crop.Pick).Window)
	require.Zero(t, likely(plan, crop.BudColour))
	c.Bloomed = 0
	c.Done = append(c.Done, crop.Done{Kind: crop.BudColour, On: day("2027-10-05")})
	require.NotContains(t, crop.Backwards(c, day("2027-10-06")).Warnings, doubt, "colour tells more")
}
