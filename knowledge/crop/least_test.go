package crop_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/place"
)

// raised gives the plan of a late variety at a place after one step was done.
func raised(p place.Place, k crop.Kind, on calendar.Day) crop.Plan {
	return crop.Backwards(crop.Case{Variety: section(3), Place: p, Wanted: crop.Target{From: day("2027-11-05"), To: day("2027-11-05")},
		Done: []crop.Done{{Kind: k, On: on}}}, on)
}

func TestPublishedSpring(t *testing.T) {
	t.Parallel()
	of := growing(t)
	heated, cold := at(52, 0), at(52, 0)
	heated.BottomHeat, heated.Cover, cold.Cover = true, true, true
	cases := []struct {
		name           string
		place          place.Place
		done, followed crop.Kind
	}{
		{"victoria-cut", heated, crop.Wake, crop.Cut},
		{"root-heated-first", heated, crop.Strike, crop.Pot},
		{"root-heated-last", heated, crop.Strike, crop.Pot},
		{"root-unheated", cold, crop.Strike, crop.Pot},
		{"root-dark-first", cold, crop.Strike, crop.Pot},
		{"root-dark-last", cold, crop.Strike, crop.Pot},
		{"pot-on-first", cold, crop.Pot, crop.PotOn},
		{"pot-on-last", cold, crop.Pot, crop.PotOn},
	}
	for _, c := range cases {
		holds(t, stepOf(t, raised(c.place, c.done, of[c.name].done), c.followed).Window, of[c.name].followed)
	}
	edges := stepOf(t, raised(heated, crop.Strike, of["root-heated-first"].done), crop.Pot).Window
	require.Equal(t, of["root-heated-first"].followed, edges.Earliest)
	require.Equal(t, of["root-heated-last"].followed, edges.Latest)
	edges = stepOf(t, raised(cold, crop.Strike, of["root-dark-first"].done), crop.Pot).Window
	require.Equal(t, of["root-dark-first"].followed, edges.Earliest)
	require.Equal(t, of["root-dark-last"].followed, edges.Latest)
	holds(t, stepOf(t, raised(cold, crop.Pot, of["pot-on-first"].done), crop.FinalPot).Window, of["final-pot"].followed)
}

// least is the least time between two steps of a plan, in days.
type least struct {
	from, to crop.Kind
	days     int
}

func leasts(p place.Place, way crop.Way) []least {
	wake, root := 21, 18
	if p.BottomHeat {
		wake, root = 12, 10
	}
	all := []least{
		{crop.Chill, crop.Wake, 30}, {crop.Wake, crop.Cut, wake}, {crop.Cut, crop.Strike, 0}, {crop.Strike, crop.Pot, root},
		{crop.WakeWater, crop.Wake, 1}, {crop.CutWater, crop.Cut, 1}, {crop.RepotWater, crop.FinalPot, 1},
		{crop.Pick, crop.CutDown, 7}, {crop.CutDown, crop.Lift, 0}, {crop.Lift, crop.Box, 0}, {crop.House, crop.Pick, 14}, {crop.BudColour, crop.Pick, 30},
	}
	if way == crop.Natural {
		return append(all, least{crop.Pot, crop.PotOn, 28}, least{crop.Pot, crop.Stop, 49}, least{crop.Strike, crop.Stop, root + 49}, least{crop.Cut, crop.Stop, root + 49},
			least{crop.Pot, crop.HardenOff, 14}, least{crop.HardenOff, crop.PlantOut, 14}, least{crop.PotOn, crop.FinalPot, 14}, least{crop.PotOn, crop.PlantOut, 0}, least{crop.Stop, crop.SecondStop, 28})
	}
	return append(all, least{crop.Strike, crop.PlantOut, 28}, least{crop.Pot, crop.PlantOut, 0}, least{crop.PlantOut, crop.Stop, 15}, least{crop.Stop, crop.BlackOut, 30}, least{crop.Stop, crop.LightEnd, 30})
}

// However late a step was done, the open ones after it keep the trade's least times; and the cutting that is still to be
// taken never comes too late for the stop that the plan names.
func TestStepsKeepTheLeastTimes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := anyPlace(t)
		p.Cover, p.BlackOut, p.Lights = rapid.Bool().Draw(t, "cover"), rapid.Bool().Draw(t, "black-out"), rapid.Bool().Draw(t, "lights")
		if rapid.Bool().Draw(t, "frost") {
			p.LastFrost, p.FirstFrost = day("2027-05-20").Annual(), day("2027-10-10").Annual()
			if p.South() {
				p.LastFrost, p.FirstFrost = day("2027-10-20").Annual(), day("2027-05-10").Annual()
			}
		}
		c := crop.Case{Variety: anyVariety(t), Place: p}
		c.Variety.Response = float64(rapid.IntRange(14, 28).Draw(t, "response")) / 2
		c.Variety.StopsWanted = rapid.IntRange(0, 2).Draw(t, "stops")
		aim := crop.Forwards(c, day("2027-01-01")).Window.Likely.Add(rapid.IntRange(-100, 60).Draw(t, "aim"))
		c.Wanted = crop.Target{From: aim, To: aim}
		if rapid.Bool().Draw(t, "keep") {
			c.Wanted = crop.Target{}
		}
		ideal := crop.Backwards(c, aim.Add(-330))
		var done []crop.Kind
		for _, k := range []crop.Kind{crop.Box, crop.Wake, crop.Cut, crop.Strike, crop.Pot} {
			if rapid.Bool().Draw(t, string(k)) {
				done = append(done, k)
			}
		}
		last := calendar.Day(0)
		for _, k := range done { // in order, each later or sooner than planned
			on := likely(ideal, k).Add(rapid.IntRange(-20, 50).Draw(t, "off"))
			if k == crop.Box {
				on = aim.Add(-rapid.IntRange(220, 330).Draw(t, "boxed"))
			}
			if on <= last || likely(ideal, k) == 0 && k != crop.Box {
				continue
			}
			last = on
			c.Done = append(c.Done, crop.Done{Kind: k, On: on})
		}
		plan := crop.Backwards(c, max(last, aim.Add(-330)))
		steps := map[crop.Kind]crop.Step{}
		for _, s := range plan.Steps {
			steps[s.Kind] = s
			require.LessOrEqual(t, s.Window.Earliest, s.Window.Likely, s.Kind)
			require.LessOrEqual(t, s.Window.Likely, s.Window.Latest, s.Kind)
		}
		for _, l := range leasts(p, plan.Way) {
			from, ok := steps[l.from]
			to, both := steps[l.to]
			if !ok || !both || to.Done || from.Done && from.Window.Likely < last {
				continue // a later step done tells more
			}
			if l.to == crop.CutDown && !p.FirstFrost.IsZero() {
				l.days = 0 // frost presses
			}
			require.GreaterOrEqual(t, to.Window.Likely.Sub(from.Window.Likely), l.days, "%s on %s, %s on %s; done %v, way %q", l.from, from.Window.Likely, l.to, to.Window.Likely, c.Done, plan.Way)
		}
	})
}

// After the last safe day for waking the plan stands for plants rooted elsewhere, and says so.
func TestWakingTooLateIsSaid(t *testing.T) {
	t.Parallel()
	c := crop.Case{Variety: section(9), Place: at(53.3, -8.9), Wanted: crop.Target{From: day("2027-11-10"), To: day("2027-11-10")}}
	last := stepOf(t, crop.Backwards(c, day("2027-03-01")), crop.Wake).LastSafe
	said := func(today calendar.Day) bool {
		plan := crop.Backwards(c, today)
		require.Empty(t, plan.Missed)
		return strings.Contains(strings.Join(plan.Warnings, " "), "the last safe day for it was "+last.Long())
	}
	require.False(t, said(last))
	require.True(t, said(last+1))
	c.Done = []crop.Done{{Kind: crop.Wake, On: last.Add(-10)}}
	require.False(t, said(last+1))
	c.Done = []crop.Done{{Kind: crop.Pot, On: last.Add(-10)}}
	require.False(t, said(last+1))
}
