package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// reckoned gives the steps of Nora's only plan as they stand on a day.
func (g *garden) reckoned(today string) (register.Reckoned, map[crop.Kind]crop.Step) {
	g.t.Helper()
	plans, err := g.Plans(g.t.Context(), g.nora.ID, g.late.ID)
	require.NoError(g.t, err)
	require.Len(g.t, plans, 1)
	r, err := g.Reckon(g.t.Context(), plans[0].ID, day(g.t, today))
	require.NoError(g.t, err)
	steps := map[crop.Kind]crop.Step{}
	for _, s := range r.Crop.Steps {
		steps[s.Kind] = s
	}
	return r, steps
}

func TestBoxedStoolsHaveTheirYear(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Boxed, 12, "2026-11-20")
	var first calendar.Window
	for _, today := range []string{"2026-11-20", "2026-12-31", "2027-01-15", "2027-03-01", "2027-08-01", "2027-11-01"} {
		r, steps := g.reckoned(today)
		require.True(t, r.Plan.Keeps())
		require.NotContains(t, steps, crop.Chill, "they are in the cold")
		wake := steps[crop.Wake]
		require.False(t, wake.Done)
		require.Greater(t, wake.Window.Likely, day(t, "2026-12-19"), "a month of cold")
		require.Less(t, wake.Window.Likely, day(t, "2027-04-01"))
		if first.IsZero() {
			first = wake.Window
		}
		require.Equal(t, first, wake.Window, "reckoned on %s", today)
		require.Equal(t, 2027, steps[crop.Pick].Window.Likely.Year())
	}
}

func TestPlantsThatWereEnteredHaveASeason(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Planted, 20, "2026-05-20")
	_, steps := g.reckoned("2026-06-01")
	require.NotContains(t, steps, crop.Wake)
	require.NotContains(t, steps, crop.Pot)
	require.True(t, steps[crop.FinalPot].Done, "a late under cover stands in its final pot")
	require.False(t, steps[crop.Stop].Done)
	require.Equal(t, 2026, steps[crop.Pick].Window.Likely.Year())
	bloom := steps[crop.Pick].Window

	g.add(crop.Boxed, 5, "2026-10-20")
	_, steps = g.reckoned("2026-10-20")
	require.Equal(t, bloom, steps[crop.Pick].Window, "a box that comes beside them is next year's")
	require.NotContains(t, steps, crop.Wake)
}

func TestWhatGrewBeforeATargetsYearIsNotItsOwn(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Planted, 20, "2026-05-20")
	_, err := g.SetTarget(t.Context(), g.by(g.nora, "2026-10-10"), g.late.ID, crop.Target{From: day(t, "2027-11-05")}, 40)
	require.NoError(t, err)
	_, steps := g.reckoned("2026-10-10")
	require.Contains(t, steps, crop.Wake)
	require.False(t, steps[crop.Stop].Done)
	g.add(crop.Boxed, 9, "2026-11-25")
	_, steps = g.reckoned("2026-11-25")
	require.NotContains(t, steps, crop.Chill)
	require.False(t, steps[crop.Wake].Done)
	before := steps
	g.add(crop.Boxed, 3, "2027-10-20")
	_, steps = g.reckoned("2027-10-20")
	require.Equal(t, before[crop.Stop].Window, steps[crop.Stop].Window, "a box in autumn leaves this year's bloom alone")
	require.Contains(t, steps, crop.Wake)
}

// Stools woken for one target are woken for the other too; while others rest still, those are woken for it.
func TestStoolsWokenForAnother(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		woken int
		want  register.JobState
	}{"all": {0, register.JobDone}, "some": {8, register.JobOpen}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			g := plant(t)
			stools := g.add(crop.Boxed, 16, "2026-01-02")
			first, second := g.target("2026-11-04"), g.target("2026-11-14")
			g.done("2026-02-20", register.Step{Plan: first.ID, Kind: crop.Wake, Batches: []int64{stools.ID}, Count: c.woken})
			j, err := g.Job(t.Context(), second.ID, crop.Wake)
			require.NoError(t, err)
			require.Equal(t, c.want, j.State)
		})
	}
}

// Cuttings are meant for the target they are taken for, whichever its stools were woken for.
func TestCuttingsForAnother(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Boxed, 16, "2026-01-02")
	first, second := g.target("2026-11-04"), g.target("2026-11-14")
	g.done("2026-02-20", register.Step{Plan: first.ID, Kind: crop.Wake})
	out := g.done("2026-03-20", register.Step{Plan: second.ID, Kind: crop.Cut, Count: 24})
	require.Equal(t, second.ID, out.Batches[0].Plan)
	j, err := g.Job(t.Context(), first.ID, crop.Cut)
	require.NoError(t, err)
	require.Equal(t, register.JobOpen, j.State)
}
