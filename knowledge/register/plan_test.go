package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/register"
)

func (g *garden) target(bloom string) register.Plan {
	g.t.Helper()
	out, err := g.SetTarget(g.t.Context(), g.by(g.nora, "2026-01-10"), g.late.ID, crop.Target{From: day(g.t, bloom)}, 40)
	require.NoError(g.t, err)
	return out.Plan
}

// agrees fails unless the plan's jobs are the steps that crop reckons; and gives the days of the open ones.
func (g *garden) agrees(plan int64, today string) map[crop.Kind]calendar.Day {
	g.t.Helper()
	r, err := g.Reckon(g.t.Context(), plan, day(g.t, today))
	require.NoError(g.t, err)
	require.NotEmpty(g.t, r.Crop.Steps)
	jobs, err := g.JobsOf(g.t.Context(), plan)
	require.NoError(g.t, err)
	byKind := map[crop.Kind]register.Job{}
	open := map[crop.Kind]calendar.Day{}
	for _, j := range jobs {
		byKind[j.Kind] = j
		if j.State == register.JobOpen {
			open[j.Kind] = j.Due
		}
	}
	for _, s := range r.Crop.Steps {
		j, ok := byKind[s.Kind]
		if s.Kind == crop.Feed {
			require.False(g.t, ok, "feeding is care, and no job of a plan")
			continue
		}
		require.True(g.t, ok, s.Kind)
		require.Equal(g.t, s.Window, j.Window, s.Kind)
		require.Equal(g.t, s.Done, j.State == register.JobDone, s.Kind)
	}
	require.LessOrEqual(g.t, len(open), len(r.Crop.Steps))
	return open
}

func TestTarget(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Boxed, 12, "2026-01-05")
	keeps, err := g.Plans(t.Context(), g.nora.ID, g.late.ID)
	require.NoError(t, err)
	require.Len(t, keeps, 1)
	require.True(t, keeps[0].Keeps())
	g.agrees(keeps[0].ID, "2026-01-05")

	p := g.target("2026-11-05")
	running, err := g.Plans(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Equal(t, []register.Plan{p}, running, "a target takes the keep-plan's place")
	open := g.agrees(p.ID, "2026-01-10")
	require.NotZero(t, open[crop.Stop])

	due, err := g.Due(t.Context(), g.nora.ID, open[crop.Stop])
	require.NoError(t, err)
	require.NotEmpty(t, due)
	for i, j := range due {
		require.LessOrEqual(t, j.Due, open[crop.Stop])
		require.Equal(t, register.JobOpen, j.State)
		require.True(t, i == 0 || due[i-1].Due <= j.Due)
	}
	coop, err := g.CoopJobs(t.Context(), g.nora.Coop, 0, open[crop.Stop])
	require.NoError(t, err)
	require.ElementsMatch(t, due, coop)
	next, err := g.Upcoming(t.Context(), g.nora.ID, day(t, "2026-01-10"), 1)
	require.NoError(t, err)
	require.Len(t, next, 1)
	theirs, err := g.Due(t.Context(), g.piet.ID, open[crop.Stop])
	require.NoError(t, err)
	require.Empty(t, theirs)

	_, err = g.SetTarget(t.Context(), g.by(g.nora, "2026-01-10"), g.late.ID, crop.Target{From: day(t, "2026-11-05")}, 4)
	refused(t, fault.Taken, "already", err)
	_, err = g.SetTarget(t.Context(), g.by(g.nora, "2026-01-10"), g.late.ID, crop.Target{From: day(t, "2026-01-10")}, 4)
	refused(t, fault.Unclear, "not ahead", err)
	_, err = g.DropTarget(t.Context(), g.by(g.piet, "2026-02-01"), p.ID, "")
	refused(t, fault.Barred, "own", err)
}

func TestLateStopMovesWhatFollows(t *testing.T) {
	t.Parallel()
	g := plant(t)
	p := g.target("2026-11-05")
	before := g.agrees(p.ID, "2026-01-10")
	late := before[crop.Stop].Add(10)
	out, err := g.Done(t.Context(), register.Actor{Member: g.nora.ID, At: late.UTC().Add(1)}, register.Step{Plan: p.ID, Kind: crop.Stop, On: late})
	require.NoError(t, err)
	after := g.agrees(p.ID, late.String())
	require.NotContains(t, after, crop.Stop)
	require.NotEmpty(t, out.Moved)
	for _, m := range out.Moved {
		require.Equal(t, before[m.Kind], m.From)
		require.Equal(t, after[m.Kind], m.To)
		require.NotEqual(t, m.From, m.To)
	}
	_, err = g.Done(t.Context(), register.Actor{Member: g.nora.ID, At: late.UTC()}, register.Step{Plan: p.ID, Kind: crop.Stop})
	refused(t, fault.Taken, "recorded as done", err)

	back, err := g.Undo(t.Context(), register.Actor{Member: g.nora.ID, At: g.at("2026-01-10")}, out.Event.ID, "not stopped at all")
	require.NoError(t, err)
	require.Len(t, back.Moved, len(out.Moved))
	require.Equal(t, before, g.agrees(p.ID, "2026-01-10"), "what it moved moves back")
}

func TestLaterAndSkip(t *testing.T) {
	t.Parallel()
	g := plant(t)
	p := g.target("2026-11-05")
	before := g.agrees(p.ID, "2026-01-10")
	stop := before[crop.Stop]
	nora := g.by(g.nora, "2026-01-10")
	_, err := g.Later(t.Context(), nora, p.ID, crop.Stop, stop)
	refused(t, fault.Unclear, "later day", err)
	out, err := g.Later(t.Context(), nora, p.ID, crop.Stop, stop.Add(3))
	require.NoError(t, err)
	require.Equal(t, []register.Move{{Plan: p.ID, Member: g.nora.ID, Variety: g.late.ID, Name: "Ember Late", Kind: crop.Stop, From: stop, To: stop.Add(3)}}, out.Moved)
	j, err := g.Job(t.Context(), p.ID, crop.Stop)
	require.NoError(t, err)
	require.Equal(t, stop.Add(3), j.Due)
	require.Equal(t, 1, j.Seq)

	skip, err := g.Skip(t.Context(), nora, p.ID, crop.Stop, "grown as a single stem")
	require.NoError(t, err)
	for _, again := range []error{
		func() error { _, err := g.Skip(t.Context(), nora, p.ID, crop.Stop, ""); return err }(),
		func() error { _, err := g.Later(t.Context(), nora, p.ID, crop.Stop, stop.Add(9)); return err }(),
	} {
		refused(t, fault.Taken, "skipped", again)
	}
	_, err = g.Skip(t.Context(), nora, p.ID, "juggle", "")
	refused(t, fault.Missing, "juggle", err)
	_, err = g.Undo(t.Context(), nora, skip.Event.ID, "")
	require.NoError(t, err)
	_, err = g.Undo(t.Context(), nora, out.Event.ID, "")
	require.NoError(t, err)
	require.Equal(t, before, g.agrees(p.ID, "2026-01-10"))
}

func TestDropAndUndo(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Boxed, 12, "2026-01-05")
	p := g.target("2026-11-05")
	g.done("2026-01-20", register.Step{Kind: crop.Wake})
	drop, err := g.DropTarget(t.Context(), g.by(g.nora, "2026-02-01"), p.ID, "no buyer")
	require.NoError(t, err)
	require.Equal(t, register.EndDropped, drop.Plan.Ending)
	jobs, err := g.JobsOf(t.Context(), p.ID)
	require.NoError(t, err)
	for _, j := range jobs {
		require.NotEqual(t, register.JobOpen, j.State)
	}
	keeps, err := g.Plans(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, keeps, 1)
	require.True(t, keeps[0].Keeps())
	r, err := g.Reckon(t.Context(), keeps[0].ID, day(t, "2026-02-01"))
	require.NoError(t, err)
	require.Contains(t, r.Case.Done, crop.Done{Kind: crop.Wake, On: day(t, "2026-01-20")}, "what was done stays true")
	_, err = g.DropTarget(t.Context(), g.by(g.nora, "2026-02-01"), p.ID, "")
	refused(t, fault.Taken, "ended on", err)
	_, err = g.DropTarget(t.Context(), g.by(g.nora, "2026-02-01"), keeps[0].ID, "")
	refused(t, fault.Unclear, "no target", err)

	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-02-02"), drop.Event.ID, "a buyer after all")
	require.NoError(t, err)
	running, err := g.Plans(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, running, 1)
	require.Equal(t, p.ID, running[0].ID)
	g.agrees(p.ID, "2026-02-02")
}

func TestBoxEndsTheYear(t *testing.T) {
	t.Parallel()
	g := plant(t)
	p := g.target("2026-11-05")
	g.add(crop.Planted, 12, "2026-05-20")
	box := g.done("2026-11-25", register.Step{Plan: p.ID, Kind: crop.Box})
	require.Equal(t, register.EndBoxed, box.Plan.Ending)
	require.Zero(t, box.Batches[0].Plan, "meant for no target any more")
	next, err := g.Plans(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Len(t, next, 1)
	require.True(t, next[0].Keeps())
	require.Equal(t, day(t, "2026-11-25"), next[0].Since)
	open := g.agrees(next[0].ID, "2026-11-26")
	require.Greater(t, open[crop.Wake], day(t, "2026-11-25"), "the year ahead")
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-11-26"), box.Event.ID, "next week")
	require.NoError(t, err)
	running, err := g.Plans(t.Context(), g.nora.ID, 0)
	require.NoError(t, err)
	require.Equal(t, p.ID, running[0].ID)
	require.Len(t, running, 1)
}

// A stop teaches the same, whether the target was set before it or after.
func TestBloomKnowsAStopBeforeItsTarget(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Planted, 12, "2026-05-20")
	stopped := day(t, "2026-06-07")
	stop := g.done("2026-06-07", register.Step{Kind: crop.Stop})
	out, err := g.SetTarget(t.Context(), g.by(g.nora, "2026-06-08"), g.late.ID, crop.Target{From: day(t, "2026-11-05")}, 40)
	require.NoError(t, err)
	bloom, err := g.SawBloom(t.Context(), g.by(g.nora, "2026-11-09"), register.Bloom{Variety: g.late.ID, Full: day(t, "2026-11-09")})
	require.NoError(t, err)
	require.Equal(t, out.Plan.ID, bloom.Plan.ID)
	stops := func(want calendar.Day) {
		t.Helper()
		c, err := g.Case(t.Context(), g.nora.ID, g.late.ID, crop.Target{From: day(t, "2027-11-05")}, day(t, "2026-12-01"))
		require.NoError(t, err)
		require.Len(t, c.Records, 1)
		require.Equal(t, want, c.Records[0].Stopped)
	}
	stops(stopped)
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-12-01"), stop.Event.ID, "another bed")
	require.NoError(t, err)
	stops(0)
}

// Stems that were counted in bloom are the same stems when they are picked, which alone count then.
func TestFlush(t *testing.T) {
	t.Parallel()
	g := plant(t)
	p := g.target("2026-11-05")
	one, two := g.add(crop.Planted, 10, "2026-05-20"), g.add(crop.Planted, 10, "2026-05-20")
	none, err := g.Flush(t.Context(), p.ID)
	require.NoError(t, err)
	require.Zero(t, none)
	for _, c := range []struct {
		bloom register.Bloom
		since string
		stems int
	}{
		{register.Bloom{Full: day(t, "2026-11-04"), Stems: 20}, "2026-11-04", 20},
		{register.Bloom{Batch: one.ID, First: day(t, "2026-11-02"), Stems: 12}, "2026-11-02", 20},
		{register.Bloom{Batch: one.ID, Full: day(t, "2026-11-05"), Stems: 15}, "2026-11-02", 20},
		{register.Bloom{Batch: two.ID, Full: day(t, "2026-11-06"), Stems: 16}, "2026-11-02", 31},
		{register.Bloom{Batch: two.ID, Picked: day(t, "2026-11-07"), Stems: 16}, "2026-11-02", 16},
		{register.Bloom{Picked: day(t, "2026-11-08"), Stems: 20}, "2026-11-02", 36},
	} {
		c.bloom.Plan, c.bloom.Variety = p.ID, g.late.ID
		_, err := g.SawBloom(t.Context(), g.by(g.nora, "2026-11-08"), c.bloom)
		require.NoError(t, err)
		f, err := g.Flush(t.Context(), p.ID)
		require.NoError(t, err)
		require.Equal(t, register.Flush{Since: day(t, c.since), Stems: c.stems}, f)
	}
}

func TestBloomTeaches(t *testing.T) {
	t.Parallel()
	g := plant(t)
	first := g.target("2026-11-05")
	stopped := day(t, "2026-06-07")
	_, err := g.Done(t.Context(), g.by(g.nora, "2026-06-07"), register.Step{Plan: first.ID, Kind: crop.Stop})
	require.NoError(t, err)
	_, err = g.SawBloom(t.Context(), g.by(g.nora, "2026-11-01"), register.Bloom{Variety: g.late.ID, First: day(t, "2026-10-30")})
	require.NoError(t, err)
	out, err := g.SawBloom(t.Context(), g.by(g.nora, "2026-11-20"), register.Bloom{Variety: g.late.ID, Full: day(t, "2026-11-09"), Picked: day(t, "2026-11-12"), Stems: 31})
	require.NoError(t, err)
	require.Equal(t, first.ID, out.Plan.ID)
	require.Equal(t, day(t, "2026-10-30"), out.Plan.Bloomed)
	pick, err := g.Job(t.Context(), first.ID, crop.Pick)
	require.NoError(t, err)
	require.Equal(t, register.JobDone, pick.State, "picking is a step done")
	flush, err := g.Flush(t.Context(), first.ID)
	require.NoError(t, err)
	require.Equal(t, register.Flush{Since: day(t, "2026-10-30"), Stems: 31}, flush)

	want := crop.Record{Own: true, Way: crop.Natural, Stopped: stopped, Bloomed: day(t, "2026-11-09"), Lat: 52}
	c, err := g.Case(t.Context(), g.nora.ID, g.late.ID, crop.Target{From: day(t, "2027-11-05")}, day(t, "2026-12-01"))
	require.NoError(t, err)
	require.Equal(t, []crop.Record{want}, c.Records)
	want.Own = false
	c, err = g.Case(t.Context(), g.piet.ID, g.late.ID, crop.Target{}, day(t, "2026-12-01"))
	require.NoError(t, err)
	require.Equal(t, []crop.Record{want}, c.Records)
	r, err := g.Reckon(t.Context(), first.ID, day(t, "2026-12-01"))
	require.NoError(t, err)
	require.Empty(t, r.Case.Records, "a plan does not learn from its own bloom")

	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-12-01"), out.Event.ID, "another bed")
	require.NoError(t, err)
	c, err = g.Case(t.Context(), g.nora.ID, g.late.ID, crop.Target{}, day(t, "2026-12-01"))
	require.NoError(t, err)
	require.Equal(t, day(t, "2026-11-06"), c.Records[0].Bloomed, "first bloom and a week")
	for _, b := range []register.Bloom{{}, {Full: day(t, "2027-01-01")}, {Full: day(t, "2026-11-01"), First: day(t, "2026-11-02")}, {Full: day(t, "2026-11-01"), Stems: -1}} {
		b.Variety = g.late.ID
		_, err = g.SawBloom(t.Context(), g.by(g.nora, "2026-12-01"), b)
		refused(t, fault.Unclear, "", err)
	}
}

func TestBloomOfAnEarlierYear(t *testing.T) {
	t.Parallel()
	g := plant(t)
	out, err := g.SetTarget(t.Context(), g.by(g.nora, "2026-11-20"), g.late.ID, crop.Target{From: day(t, "2027-11-12")}, 40)
	require.NoError(t, err)
	seen, err := g.SawBloom(t.Context(), g.by(g.nora, "2026-11-20"), register.Bloom{Variety: g.late.ID, Full: day(t, "2026-11-12")})
	require.NoError(t, err)
	require.Zero(t, seen.Plan.ID, "the target is a year later")
	r, err := g.Reckon(t.Context(), out.Plan.ID, day(t, "2026-11-20"))
	require.NoError(t, err)
	require.Len(t, r.Case.Records, 1, "but it learns from it")
}

func TestAPlaceMovesItsJobs(t *testing.T) {
	t.Parallel()
	g := plant(t)
	p := g.target("2026-11-05")
	before := g.agrees(p.ID, "2026-01-10")
	moved, err := g.SetMember(t.Context(), g.by(g.nora, "2026-01-10"), register.Metric, 3, place.Place{Point: place.Point{Lat: 40, Lon: -3}, Zone: "Europe/Madrid", Exact: true,
		LastFrost: calendar.Annual{Month: 3, Day: 10}, FirstFrost: calendar.Annual{Month: 11, Day: 20}})
	require.NoError(t, err)
	require.NotEmpty(t, moved)
	require.NotEqual(t, before, g.agrees(p.ID, "2026-01-10"))
}

func TestUndoTarget(t *testing.T) {
	t.Parallel()
	g := plant(t)
	p := g.target("2026-11-05")
	aim, err := g.LastEvent(t.Context(), g.nora.ID)
	require.NoError(t, err)
	wake := g.done("2026-01-20", register.Step{Kind: crop.Wake, Plan: p.ID})
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-02-01"), aim.ID, "")
	refused(t, fault.Taken, "Drop it instead", err)
	_, err = g.Undo(t.Context(), g.by(g.nora, "2026-02-01"), wake.Event.ID, "")
	require.NoError(t, err)
	out, err := g.Undo(t.Context(), g.by(g.nora, "2026-02-01"), aim.ID, "")
	require.NoError(t, err)
	require.Equal(t, register.EndDropped, out.Plan.Ending)
	log, err := g.PlanLog(t.Context(), p.ID)
	require.NoError(t, err)
	require.Len(t, log, 2)
}
