package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func TestYearOfABatch(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box := g.add(crop.Boxed, 12, "2026-01-05")
	require.Equal(t, "26-1", box.Mark)

	out := g.done("2026-01-20", register.Step{Kind: crop.Wake, Count: 7, Lost: 2, Spot: "heated bench"})
	require.Len(t, out.Batches, 2)
	rest, woken := out.Batches[0], out.Batches[1]
	require.Equal(t, 3, rest.Count)
	require.Equal(t, crop.Boxed, rest.Stage)
	require.Equal(t, 7, woken.Count)
	require.Equal(t, crop.Woken, woken.Stage)
	require.Equal(t, "heated bench", woken.Spot)
	require.Equal(t, box.ID, woken.Parent)

	out = g.done("2026-02-10", register.Step{Kind: crop.Cut, Count: 40})
	taken := out.Batches[0]
	require.Equal(t, crop.Taken, taken.Stage)
	require.Equal(t, woken.ID, taken.Parent)
	out = g.done("2026-02-11", register.Step{Kind: crop.Strike})
	require.Equal(t, taken.ID, out.Batches[0].ID, "the whole batch moves on")
	require.Equal(t, crop.Struck, out.Batches[0].Stage)
	out = g.done("2026-03-05", register.Step{Kind: crop.Pot, Count: 30, Lost: 10})
	require.Len(t, out.Batches, 1)
	require.Equal(t, 30, out.Batches[0].Count)
	g.done("2026-05-15", register.Step{Kind: crop.PlantOut})
	g.done("2026-10-01", register.Step{Kind: crop.House, Count: 20})
	out = g.done("2026-11-20", register.Step{Kind: crop.Box, Batches: []int64{taken.ID}})
	require.Equal(t, crop.Boxed, out.Batches[0].Stage)
	require.Equal(t, 10, out.Batches[0].Count)

	up, err := g.Ancestors(t.Context(), taken.ID)
	require.NoError(t, err)
	require.Equal(t, []string{"26-2", "26-1"}, []string{up[0].Mark, up[1].Mark})
	down, err := g.Descendants(t.Context(), box.ID)
	require.NoError(t, err)
	require.Len(t, down, 3, "woken, taken, and what was housed apart")

	deeds, err := g.Explain(t.Context(), taken.ID)
	require.NoError(t, err)
	sum := 0
	for _, d := range deeds {
		sum += d.Delta
		require.Equal(t, "Nora", d.Event.ByName)
	}
	require.Equal(t, 10, sum)
	counts, err := g.Rates(t.Context(), g.nora.Coop, g.late.ID, g.nora.ID)
	require.NoError(t, err)
	require.Equal(t, register.Counts{StoolsBoxed: 12, StoolsWoken: 10, CuttingsStruck: 40, CuttingsRooted: 30}, counts,
		"the three left in a box of which two died were counted alive")
	none, err := g.Rates(t.Context(), g.nora.Coop, 0, g.piet.ID)
	require.NoError(t, err)
	require.Zero(t, none)
	g.sound()
}

// A strike, a wake or a potting that nobody recorded leaves no plants behind and makes none twice.
func TestAMissedStepKeepsTheLine(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box := g.add(crop.Boxed, 6, "2026-01-05")
	cut := g.done("2026-02-10", register.Step{Kind: crop.Cut, Count: 24})
	require.Len(t, cut.Batches, 1)
	taken := cut.Batches[0]
	require.Equal(t, box.ID, taken.Parent, "of stools that are woken, though it was not recorded")
	struck := g.done("2026-02-12", register.Step{Kind: crop.Strike, Batches: []int64{box.ID}, Count: 5})
	require.Equal(t, box.ID, struck.Batches[0].Parent)
	_, err := g.Undo(t.Context(), g.by(g.nora, "2026-02-12"), struck.Event.ID, "of another tray")
	require.NoError(t, err)

	_, err = g.Done(t.Context(), g.by(g.nora, "2026-03-05"), register.Step{Variety: g.late.ID, Kind: crop.Pot, Count: 30})
	refused(t, fault.Unclear, "has 24, not 30", err)
	pot := g.done("2026-03-05", register.Step{Kind: crop.Pot, Count: 20, Lost: 1})
	require.Len(t, pot.Batches, 2)
	require.Equal(t, taken.ID, pot.Batches[0].ID)
	require.Equal(t, 3, pot.Batches[0].Count, "what is still there")
	potted := pot.Batches[1]
	require.Equal(t, 20, potted.Count)
	require.Equal(t, taken.ID, potted.Parent)
	counts, err := g.Rates(t.Context(), g.nora.Coop, g.late.ID, g.nora.ID)
	require.NoError(t, err)
	require.Equal(t, 20, counts.CuttingsRooted)
	require.Equal(t, 21, counts.CuttingsStruck)

	g.done("2026-03-06", register.Step{Kind: crop.PlantOut, Batches: []int64{taken.ID}})
	out := g.done("2026-10-01", register.Step{Kind: crop.House, Batches: []int64{potted.ID}})
	require.Equal(t, crop.Housed, out.Batches[0].Stage)
	down, err := g.Descendants(t.Context(), box.ID)
	require.NoError(t, err)
	sum := 0
	for _, b := range down {
		sum += b.Count
	}
	require.Equal(t, 23, sum)
	g.sound()
}

// A step that moves no plants is done once a plan; of other plants it is recorded by their batch.
func TestDoneOnce(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Planted, 12, "2026-05-20")
	stop := register.Step{Variety: g.late.ID, Kind: crop.Stop}
	first := g.done("2026-06-10", stop)
	_, err := g.Done(t.Context(), g.by(g.nora, "2026-06-11"), register.Step{Variety: g.late.ID, Kind: crop.Stop, On: day(t, "2026-06-02")})
	refused(t, fault.Taken, "recorded as done on Wed 10 Jun 2026", err)
	g.done("2026-06-11", register.Step{Kind: crop.Stop, Batches: []int64{b.ID}})
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-06-12"), first.Event.ID, "it was the other bed")
	require.NoError(t, err)
}

func TestDoneRefuses(t *testing.T) {
	t.Parallel()
	g := plant(t)
	a, b := g.add(crop.Boxed, 12, "2026-01-05"), g.add(crop.Boxed, 3, "2026-01-06")
	woken := g.add(crop.Woken, 3, "2026-01-06")
	empty := g.add(crop.Boxed, 1, "2026-01-06")
	_, err := g.Count(t.Context(), g.by(g.nora, "2026-01-07"), register.Tally{Batch: empty.ID, Died: true})
	require.NoError(t, err)
	other, err := g.Add(t.Context(), g.by(g.piet, "2026-01-08"), register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 2})
	require.NoError(t, err)
	for name, c := range map[string]struct {
		step register.Step
		kind fault.Kind
		says string
	}{
		"future":      {register.Step{Kind: crop.Stop, Variety: g.late.ID, On: day(t, "2026-02-02")}, fault.Unclear, "still to come"},
		"before made": {register.Step{Kind: crop.Wake, Batches: []int64{a.ID}, On: day(t, "2026-01-04")}, fault.Unclear, "exists only since"},
		"no kind":     {register.Step{Variety: g.late.ID}, fault.Unclear, "Which step"},
		"nothing":     {register.Step{Kind: crop.Stop}, fault.Unclear, "Of which variety"},
		"negative":    {register.Step{Kind: crop.Wake, Variety: g.late.ID, Count: -1}, fault.Unclear, "below zero"},
		"which":       {register.Step{Kind: crop.Wake, Variety: g.late.ID}, fault.Unclear, a.Mark + " (12 boxed), " + b.Mark},
		"too many":    {register.Step{Kind: crop.Wake, Batches: []int64{b.ID}, Count: 2, Lost: 2}, fault.Unclear, "has 3, not 4"},
		"count of 2":  {register.Step{Kind: crop.Wake, Batches: []int64{a.ID, b.ID}, Count: 2}, fault.Unclear, "one batch"},
		"already":     {register.Step{Kind: crop.Wake, Batches: []int64{woken.ID}}, fault.Taken, "is woken already"},
		"theirs":      {register.Step{Kind: crop.Wake, Batches: []int64{other.Batches[0].ID}}, fault.Barred, "own"},
		"empty":       {register.Step{Kind: crop.Wake, Batches: []int64{empty.ID}}, fault.Taken, "no plants left"},
		"uncounted":   {register.Step{Kind: crop.Strike, Batches: []int64{woken.ID}}, fault.Unclear, "How many cuttings"},
		"no plan":     {register.Step{Kind: crop.Wake, Plan: 999}, fault.Missing, "plan"},
		"no batch":    {register.Step{Kind: crop.Wake, Batches: []int64{999}}, fault.Missing, "batch"},
		"no variety":  {register.Step{Kind: crop.Wake, Variety: 999}, fault.Missing, "variety"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := g.Done(t.Context(), g.by(g.nora, "2026-02-01"), c.step)
			refused(t, c.kind, c.says, err)
		})
	}
	all, err := g.Batches(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, all, 3, "a refusal leaves nothing behind")
	g.sound()
}

func TestStockRefuses(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Boxed, 12, "2026-01-05")
	early, err := g.AddVariety(t.Context(), g.by(g.nora, "2026-01-05"), register.Variety{}.Variety)
	refused(t, fault.Unclear, "name", err)
	v := g.late.Variety
	v.Name = "Frost Lamp"
	early, err = g.AddVariety(t.Context(), g.by(g.nora, "2026-01-05"), v)
	require.NoError(t, err)
	for name, c := range map[string]struct {
		stock register.Stock
		says  string
	}{
		"none":         {register.Stock{Variety: g.late.ID, Stage: crop.Boxed}, "How many"},
		"no stage":     {register.Stock{Variety: g.late.ID, Count: 1}, "What stage"},
		"future":       {register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 1, Since: day(t, "2026-03-01")}, "still to come"},
		"other's kind": {register.Stock{Variety: early.ID, Stage: crop.Boxed, Count: 1, Parent: b.ID}, "cannot come from it"},
		"older":        {register.Stock{Variety: g.late.ID, Stage: crop.Boxed, Count: 1, Parent: b.ID, Since: day(t, "2026-01-01")}, "later than these"},
	} {
		_, err := g.Add(t.Context(), g.by(g.nora, "2026-02-01"), c.stock)
		refused(t, fault.Unclear, c.says, err)
		require.NotEmpty(t, name)
	}
	_, err = g.Count(t.Context(), g.by(g.nora, "2026-02-01"), register.Tally{Batch: b.ID, Number: -1})
	refused(t, fault.Unclear, "below zero", err)
	_, err = g.Move(t.Context(), g.by(g.nora, "2026-02-01"), register.Shift{Batch: b.ID, Count: 13, Spot: "x"})
	refused(t, fault.Unclear, "has 12, not 13", err)
	_, err = g.BatchMarked(t.Context(), g.nora.Coop, "99-1")
	refused(t, fault.Missing, "99-1", err)
	found, err := g.BatchMarked(t.Context(), g.nora.Coop, "26-1")
	require.NoError(t, err)
	require.Equal(t, b.ID, found.ID)
	marks, err := g.Marks(t.Context(), g.nora, "26", 5)
	require.NoError(t, err)
	require.Equal(t, []string{"26-1"}, marks)
}

func TestUndo(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box := g.add(crop.Boxed, 12, "2026-01-05")
	wake := g.done("2026-01-20", register.Step{Kind: crop.Wake, Count: 7, Lost: 2})
	strike := g.done("2026-02-11", register.Step{Kind: crop.Strike, Count: 40})
	woken := wake.Batches[1]

	_, err := g.Undo(t.Context(), g.by(g.nora, "2026-02-12"), wake.Event.ID, "wrong box")
	refused(t, fault.Taken, "strike on Wed 11 Feb 2026. Undo that first", err)
	out, err := g.Undo(t.Context(), g.by(g.nora, "2026-02-12"), strike.Event.ID, "other tray")
	require.NoError(t, err)
	require.Equal(t, "other tray", out.Event.UndoneWhy)
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-02-12"), strike.Event.ID, "again")
	refused(t, fault.Taken, "undone on", err)
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-02-12"), wake.Event.ID, "wrong box")
	require.NoError(t, err)
	again, err := g.Batch(t.Context(), box.ID)
	require.NoError(t, err)
	require.Equal(t, box, again)
	gone, err := g.Batch(t.Context(), woken.ID)
	require.NoError(t, err)
	require.False(t, gone.Live(), "kept, without plants")
	log, err := g.Log(t.Context(), g.nora.ID, 9)
	require.NoError(t, err)
	require.Len(t, log, 3, "nothing is erased")
	counts, err := g.Rates(t.Context(), g.nora.Coop, g.late.ID, 0)
	require.NoError(t, err)
	require.Zero(t, counts)
	last, err := g.LastEvent(t.Context(), g.nora.ID)
	require.NoError(t, err)
	require.Equal(t, register.Added, last.Deed)
	g.sound()
}

func TestCare(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Potted, 12, "2026-03-01")
	due := func(kind crop.Kind) string {
		all, err := g.Care(t.Context(), g.nora.ID, day(t, "2027-01-01"), day(t, "2027-01-01"))
		require.NoError(t, err)
		for _, c := range all {
			if c.Kind == kind {
				require.Equal(t, []register.Batch{b}, c.Batches)
				return c.Next.String()
			}
		}
		return ""
	}
	first := due(crop.Water)
	require.NotEmpty(t, first)
	_, err := g.Done(t.Context(), g.by(g.nora, "2026-03-20"), register.Step{Kind: crop.Water})
	require.NoError(t, err)
	then := due(crop.Water)
	require.Greater(t, then, "2026-03-20")
	out, err := g.Done(t.Context(), g.by(g.nora, "2026-03-22"), register.Step{Kind: crop.Water, Batches: []int64{b.ID}})
	require.NoError(t, err)
	require.Greater(t, due(crop.Water), then)
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-03-23"), out.Event.ID, "was the neighbour's")
	require.NoError(t, err)
	require.Equal(t, then, due(crop.Water))
	early, err := g.Care(t.Context(), g.nora.ID, day(t, "2026-02-01"), day(t, "2026-02-01"))
	require.NoError(t, err)
	require.Empty(t, early)
	_, err = g.Done(t.Context(), g.by(g.piet, "2026-03-20"), register.Step{Kind: crop.Water})
	refused(t, fault.Missing, "no plants", err)
}
