package crop_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/place"
)

// Where every day is short the response weeks run from the stop (trade.md §3), on whatever day of the year that was.
func TestShortDaysAllYear(t *testing.T) {
	t.Parallel()
	v := section(9)
	v.Response = 9
	for _, lat := range []float64{0, 5, -5, 18} {
		for _, stop := range []string{"2027-02-01", "2027-06-01", "2027-11-20"} {
			f := crop.Forwards(crop.Case{Variety: v, Place: at(lat, 8), Done: []crop.Done{{Kind: crop.Stop, On: day(stop)}}}, day(stop))
			require.Equal(t, day(stop).Add(63), f.Window.Likely, "%g %s", lat, stop)
			require.Equal(t, crop.ShortDays, f.Basis)
		}
	}
	v.Response = 0
	f := crop.Forwards(crop.Case{Variety: v, Place: at(5, 8), Done: []crop.Done{{Kind: crop.Stop, On: day("2027-02-01")}}}, day("2027-02-01"))
	require.Equal(t, crop.Nothing, f.Basis)
	require.Equal(t, day("2027-02-01").Add(63), f.Window.Likely, "9 weeks stand in for it")
	require.True(t, crop.Forwards(crop.Case{Variety: v, Place: at(5, 8)}, day("2027-02-01")).Window.IsZero(), "no stop, no day")
	far := crop.Forwards(crop.Case{Variety: v, Place: at(30, 8), Done: []crop.Done{{Kind: crop.Stop, On: day("2027-06-01")}}}, day("2027-06-01"))
	require.NotContains(t, strings.Join(far.Warnings, " "), "Every day of the year")
}

// A bloom wanted on any day is led to by the stop; black-out changes nothing, and night lights hold it back.
func TestTargetsUnderShortDaysAllYear(t *testing.T) {
	t.Parallel()
	v := section(9)
	v.Response = 9
	potted := []crop.Done{{Kind: crop.Pot, On: day("2027-02-01")}}
	plan := func(p place.Place, done []crop.Done, aim string, way crop.Way) crop.Plan {
		return crop.Backwards(crop.Case{Variety: v, Place: p, Done: done, Wanted: crop.Target{From: day(aim), To: day(aim), Way: way}}, day("2027-02-01"))
	}
	p := at(5, 8)
	p.BlackOut, p.Cover = true, true
	for _, aim := range []string{"2027-05-01", "2027-06-01", "2027-09-10", "2027-12-24"} {
		got := plan(p, potted, aim, crop.AnyWay)
		require.Nil(t, got.Refusal)
		require.Empty(t, got.Missed, aim)
		require.Equal(t, crop.Natural, got.Way)
		require.Equal(t, day(aim), got.Bloom.Window.Likely)
		stop := stepOf(t, got, crop.Stop)
		require.Equal(t, day(aim).Add(-63), stop.Window.Likely)
		require.GreaterOrEqual(t, stop.LastSafe, stop.Window.Likely)
		require.Contains(t, stop.Lost, "after the days wanted")
		for i, s := range got.Steps {
			require.NotEqual(t, crop.BlackOut, s.Kind)
			require.False(t, i > 0 && s.Window.Likely < got.Steps[i-1].Window.Likely)
			if s.Kind == crop.PlantOut {
				require.Less(t, s.Window.Likely, stop.Window.Likely)
			}
		}
	}
	require.Contains(t, plan(p, potted, "2027-06-01", crop.Shaded).Refusal.Why, "changes nothing")
	stopped := append(potted, crop.Done{Kind: crop.Stop, On: day("2027-03-01")})
	require.Contains(t, plan(p, stopped, "2027-06-01", crop.AnyWay).Missed, "before the day wanted")
	p.Lights = true
	lit := plan(p, stopped, "2027-06-01", crop.AnyWay)
	require.Equal(t, crop.Lit, lit.Way)
	require.Equal(t, day("2027-06-01"), lit.Bloom.Window.Likely)
	require.Contains(t, stepOf(t, lit, crop.Light).Rule, "for all year the day falls below 14.5 h")
}
