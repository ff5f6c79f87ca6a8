package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
	"shortday/knowledge/photo"
	"shortday/knowledge/register"
)

// has enters plants of a member's that came from a batch, whoever has it.
func (g *garden) has(m register.Member, from int64, spot, since string) register.Batch {
	g.t.Helper()
	out, err := g.Add(g.t.Context(), g.by(m, since), register.Stock{Variety: g.late.ID, Stage: crop.Potted, Count: 12, Since: day(g.t, since), Spot: spot, Parent: from})
	require.NoError(g.t, err)
	return out.Batches[0]
}

func (g *garden) sees(m register.Member, on string, b register.Batch, s register.Sighting) register.Sighted {
	g.t.Helper()
	s.Batches = append(s.Batches, b.ID)
	if s.Pest == "" {
		s.Pest = health.WhiteRust
	}
	out, err := g.Sight(g.t.Context(), g.by(m, on), s)
	require.NoError(g.t, err)
	return out
}

// told gives the kinds of what waits to be told to a member, 0 for the group.
func (g *garden) told(member int64) (kinds []register.TidingKind) {
	g.t.Helper()
	waiting, err := g.Tidings(g.t.Context(), 100)
	require.NoError(g.t, err)
	for _, w := range waiting {
		if w.Member == member {
			kinds = append(kinds, w.Kind)
		}
	}
	return kinds
}

// took takes all tidings, as if they had been told.
func (g *garden) took() {
	g.t.Helper()
	_, err := g.DB().ExecContext(g.t.Context(), `UPDATE tiding SET taken = 1`)
	require.NoError(g.t, err)
}

func marksOf(batches []register.Batch) (marks []string) {
	for _, b := range batches {
		marks = append(marks, b.Mark)
	}
	return marks
}

func TestReportHoldsKinAndTellsWhoShouldLook(t *testing.T) {
	t.Parallel()
	g := plant(t)
	rosa := g.enter("rosa", "Rosa")
	box := g.has(g.nora, 0, "box 1", "2027-01-10")
	early := g.has(rosa, box.ID, "", "2027-03-01") // parted before the infection could have been there
	tray := g.has(g.nora, box.ID, "bench 1", "2027-05-20")
	beside := g.has(g.nora, 0, "Bench 1", "2027-05-21")
	pots := g.has(g.piet, tray.ID, "frame", "2027-06-10")

	out := g.sees(g.piet, "2027-06-30", pots, register.Sighting{})
	require.Equal(t, "2027-08-25", out.Last.String())
	require.Empty(t, out.Kin)
	require.Equal(t, 2, out.Others, "tray and box")
	require.Equal(t, 1, out.Warned)
	require.Equal(t, []register.TidingKind{register.LookToday}, g.told(g.nora.ID))
	require.Empty(t, g.told(rosa.ID))
	require.Empty(t, g.told(0), "the group hears nothing without the reporter's word")
	for _, b := range []register.Batch{box, tray, pots} {
		require.Equal(t, health.WhiteRust, g.held(b, "2027-08-25").Pest, b.Mark)
		require.Zero(t, g.held(b, "2027-08-26"))
	}
	require.Zero(t, g.held(early, "2027-06-30"))
	require.Zero(t, g.held(beside, "2027-06-30"), "what stood beside is looked at, and not held")

	trail, err := g.Trace(t.Context(), out.Report.ID, g.nora.ID)
	require.NoError(t, err)
	require.Len(t, trail.Suspects, 3, "tray, box and what stood beside the tray")
	require.Equal(t, tray.ID, trail.Suspects[0].Plants.ID)

	later := g.has(rosa, tray.ID, "", "2027-07-05")
	require.Equal(t, register.HeldKin, g.held(later, "2027-07-05").Why)
	require.Equal(t, []register.TidingKind{register.LookToday}, g.told(rosa.ID), "who comes by kin only later is told then")
	sister := g.has(rosa, box.ID, "", "2027-07-05")
	require.Equal(t, register.HeldKin, g.held(sister, "2027-07-05").Why)
	require.Len(t, g.told(rosa.ID), 1, "once")

	care, err := g.Care(t.Context(), g.nora.ID, day(t, "2027-06-30"), day(t, "2027-06-30"))
	require.NoError(t, err)
	look := care[len(care)-1]
	for _, c := range care {
		if c.Kind == crop.Look {
			look = c
		}
	}
	require.Equal(t, crop.Look, look.Kind)
	require.Equal(t, []string{box.Mark, tray.Mark}, marksOf(look.Batches))
	_, err = g.Done(t.Context(), g.by(g.nora, "2027-07-01"), register.Step{Kind: crop.Look})
	require.NoError(t, err)
	for _, c := range must(g.Care(t.Context(), g.nora.ID, day(t, "2027-07-01"), day(t, "2027-07-07"))) {
		require.NotEqual(t, crop.Look, c.Kind, "a week later")
	}
	x, err := g.Export(t.Context(), rosa.ID)
	require.NoError(t, err)
	require.Len(t, x.Learnt, 1)
	require.Len(t, x.Holds, 2)
	x, err = g.Export(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Len(t, x.Reports, 1)
	require.NoError(t, g.Leave(t.Context(), g.by(g.piet, "2027-07-02")))
	require.Equal(t, register.HeldKin, g.held(tray, "2027-07-02").Why, "the hold outlasts who reported")
}

func must[T any](value T, err error) T {
	if err != nil {
		panic(err)
	}
	return value
}

func TestClearing(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box := g.has(g.nora, 0, "", "2027-06-01")
	pots := g.has(g.piet, box.ID, "", "2027-06-10")
	out := g.sees(g.piet, "2027-06-30", pots, register.Sighting{Aloud: register.AloudPest})
	require.Equal(t, []register.TidingKind{register.WarnGroup}, g.told(0))
	g.took()

	_, err := g.ClearBatch(t.Context(), g.by(g.piet, "2027-07-01"), box.ID, "looked at")
	refused(t, fault.Barred, "is not Piet's", err)
	freed, err := g.ClearBatch(t.Context(), g.by(g.nora, "2027-07-01"), box.ID, "looked at, spotless")
	require.NoError(t, err)
	require.Equal(t, 1, freed.Told)
	require.Zero(t, g.held(box, "2027-07-01"))
	require.NotZero(t, g.held(pots, "2027-07-01"))
	require.Equal(t, []register.TidingKind{register.Unheld}, g.told(g.piet.ID), "who reported is told")
	_, err = g.ClearBatch(t.Context(), g.by(g.nora, "2027-07-01"), box.ID, "again")
	refused(t, fault.Taken, "is not held back", err)
	_, err = g.Undo(t.Context(), g.by(g.nora, "2027-07-01"), freed.Event.ID, "looked at the wrong box")
	require.NoError(t, err)
	require.NotZero(t, g.held(box, "2027-07-01"))
	g.took()

	_, err = g.ClearReport(t.Context(), g.by(g.nora, "2027-07-02"), out.Report.ID, "no")
	refused(t, fault.Barred, "is not Nora's", err)
	whole, err := g.ClearReport(t.Context(), g.by(g.piet, "2027-07-02"), out.Report.ID, "it was soot")
	require.NoError(t, err)
	require.Len(t, whole.Batches, 2)
	require.Zero(t, g.held(box, "2027-07-02"))
	require.Equal(t, []register.TidingKind{register.Unheld}, g.told(g.nora.ID))
	require.Equal(t, []register.TidingKind{register.Unheld}, g.told(0))
	waiting, err := g.Tidings(t.Context(), 1)
	require.NoError(t, err)
	c, err := g.Clearance(t.Context(), waiting[0].Subject)
	require.NoError(t, err)
	require.True(t, c.Whole)
	require.Equal(t, "it was soot", c.Reason)
	_, err = g.ClearReport(t.Context(), g.by(g.piet, "2027-07-02"), out.Report.ID, "it was soot")
	refused(t, fault.Taken, "holds nothing any more", err)
}

func TestReportKeepsPhotos(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box := g.add(crop.Boxed, 6, "2027-06-01")
	s := register.Sighting{Batches: []int64{box.ID}, Pest: "white-rust", Photos: []photo.Photo{snap(), snap()}}
	out, err := g.Sight(t.Context(), g.by(g.nora, "2027-06-10"), s)
	require.NoError(t, err)
	photos, err := g.ReportPhotos(t.Context(), out.Report.ID)
	require.NoError(t, err)
	require.Len(t, photos, 2)
	require.Equal(t, "large", string(photos[0].Data))
	require.NoError(t, g.Leave(t.Context(), g.by(g.nora, "2027-07-02")))
	photos, err = g.ReportPhotos(t.Context(), out.Report.ID)
	require.NoError(t, err)
	require.Empty(t, photos, "they go with who took them")
}

func TestReportTakenBack(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box := g.has(g.nora, 0, "", "2027-06-01")
	pots := g.has(g.piet, box.ID, "", "2027-06-10")
	out := g.sees(g.piet, "2027-06-30", pots, register.Sighting{Aloud: register.AloudName})
	_, err := g.Undo(t.Context(), g.by(g.piet, "2027-06-30"), out.Report.Event, "a slip")
	require.NoError(t, err)
	require.Zero(t, g.held(box, "2027-06-30"))
	require.Zero(t, g.held(pots, "2027-06-30"))
	require.Empty(t, g.told(g.nora.ID), "what was not told yet is not told")
	require.Empty(t, g.told(0))

	out = g.sees(g.piet, "2027-06-30", pots, register.Sighting{Aloud: register.AloudName})
	g.took()
	_, err = g.Amend(t.Context(), g.by(g.piet, "2027-07-01"), register.Amended{Report: out.Report.ID, Sure: register.Confirmed})
	require.NoError(t, err)
	require.Equal(t, []register.TidingKind{register.ReportMoved}, g.told(g.nora.ID))
	require.Equal(t, []register.TidingKind{register.WarnGroup}, g.told(0))
	g.took()
	_, err = g.Undo(t.Context(), g.by(g.piet, "2027-07-01"), out.Report.Event, "the other bench")
	require.NoError(t, err)
	require.Equal(t, []register.TidingKind{register.ReportMoved}, g.told(g.nora.ID))
	require.Equal(t, []register.TidingKind{register.ReportMoved}, g.told(0))
	_, err = g.Amend(t.Context(), g.by(g.piet, "2027-07-01"), register.Amended{Report: out.Report.ID, Sure: register.Suspected})
	refused(t, fault.Taken, "was taken back", err)
}

func TestSightingRefuses(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.has(g.nora, 0, "", "2027-06-01")
	for _, c := range []struct {
		s    register.Sighting
		kind fault.Kind
		says string
	}{
		{register.Sighting{Pest: "greenfly"}, fault.Unclear, "Which pest"},
		{register.Sighting{Pest: health.Other}, fault.Unclear, "What do you see"},
		{register.Sighting{Seen: day(t, "2027-07-09")}, fault.Unclear, "still to come"},
		{register.Sighting{Seen: day(t, "2027-05-09")}, fault.Unclear, "exists only since"},
	} {
		if c.s.Pest == "" {
			c.s.Pest = health.WhiteRust
		}
		c.s.Batches = []int64{b.ID}
		_, err := g.Sight(t.Context(), g.by(g.nora, "2027-07-01"), c.s)
		refused(t, c.kind, c.says, err)
	}
	_, err := g.Sight(t.Context(), g.by(g.nora, "2027-07-01"), register.Sighting{Pest: health.WhiteRust})
	refused(t, fault.Unclear, "On which plants", err)
	_, err = g.Sight(t.Context(), g.by(g.piet, "2027-07-01"), register.Sighting{Pest: health.WhiteRust, Batches: []int64{b.ID}})
	refused(t, fault.Barred, "is not Piet's", err)
	g.sees(g.nora, "2027-07-01", b, register.Sighting{})
	_, err = g.Sight(t.Context(), g.by(g.nora, "2027-07-01"), register.Sighting{Pest: health.WhiteRust, Batches: []int64{b.ID}})
	refused(t, fault.Taken, "already", err)
}

func TestReportMeetsASwapHalfWay(t *testing.T) {
	t.Parallel()
	l := swapLane(t, "Rosa")
	_, b := l.offers("Piet", "Gilt", 8)
	l.wants("Nora", "Gilt", 3)
	l.wants("Rosa", "Gilt", 3)
	var swaps []register.Swap
	for _, p := range l.propose() {
		swaps = append(swaps, l.agree(p, p.Silent()...).Swaps...)
	}
	require.Len(t, swaps, 2)
	given, err := l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: swaps[0].ID})
	require.NoError(t, err)
	l.took()
	l.sees(l.piet, l.on, b, register.Sighting{})
	for _, name := range []string{"Nora", "Rosa"} {
		require.Equal(t, []register.TidingKind{register.SwapHeld}, l.told(name))
	}
	_, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: swaps[1].ID})
	refused(t, fault.Later, "is held back until", err)

	receiver := given.ToName
	_, out, err := l.Received(t.Context(), l.who(receiver), register.Transfer{Swap: given.ID})
	require.NoError(t, err, "what was handed over before is there, and is received")
	require.Equal(t, health.WhiteRust, l.held(l.batch(out.Batches[0].ID), l.on).Pest)
}
