package scheduler_test

import (
	"context"
	"database/sql"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/health"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
	"shortday/scheduler"
)

// waits composes what waits to be told to a member, 0 for the group, the latest alone; and takes it.
func (l *lane) waits(member int64, on string) (scheduler.Notice, bool) {
	l.t.Helper()
	waiting, err := l.Tidings(l.t.Context(), 100)
	require.NoError(l.t, err)
	var last register.Tiding
	for _, t := range waiting {
		if t.Member == member {
			last = t
			require.NoError(l.t, l.TakeTiding(l.t.Context(), t.ID, at(l.t, on), func(context.Context, *sql.Tx) error { return nil }))
		}
	}
	require.NotZero(l.t, last.ID, "something is to be told")
	return l.compose(scheduler.Subject{Kind: scheduler.Told, Member: member, Tiding: last}, on)
}

func (l *lane) potted(m register.Member, v register.Variety, from int64, on string) register.Batch {
	l.t.Helper()
	out, err := l.Add(l.t.Context(), register.Actor{Member: m.ID, At: at(l.t, on)}, register.Stock{Variety: v.ID, Stage: crop.Potted, Count: 12, Parent: from})
	require.NoError(l.t, err)
	return out.Batches[0]
}

func TestPestsAreTold(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	oona, piet := l.member("Oona", "2027-05-01"), l.member("Piet", "2027-05-01")
	v := l.variety(oona, "Saltmarsh", variety.Late, "2027-05-01")
	tray := l.potted(oona, v, 0, "2027-05-20")
	pots := l.potted(piet, v, tray.ID, "2027-06-10")
	by := func(m register.Member, on string) register.Actor { return register.Actor{Member: m.ID, At: at(t, on)} }
	out, err := l.Sight(t.Context(), by(piet, "2027-06-30"), register.Sighting{Batches: []int64{pots.ID}, Pest: health.WhiteRust, Aloud: register.AloudVariety})
	require.NoError(t, err)

	n, some := l.waits(oona.ID, "2027-06-30")
	require.True(t, some)
	require.Equal(t, "Look at your plants today: white rust", n.Title)
	require.True(t, strings.HasPrefix(n.Text, "Ask your plant-health authority first"), n.Text)
	require.Contains(t, n.Text, "1. Saltmarsh, your 12 pots 27-1 → 12 pots 27-2 of June 2027 (another member's)")
	require.Contains(t, n.Text, "suspected")
	require.NotContains(t, n.Text, "Piet")
	require.Equal(t, "/health trace report:1", n.Next[0].Request)

	group, some := l.waits(0, "2027-06-30")
	require.True(t, some)
	require.Contains(t, group.Text, "White rust was reported on Saltmarsh, suspected. It can stay hidden, so nobody is at fault.")
	require.NotContains(t, group.Text, "Piet", "the group hears what the reporter allows")

	_, err = l.Amend(t.Context(), by(piet, "2027-07-01"), register.Amended{Report: out.Report.ID, Sure: register.Confirmed, Aloud: register.AloudName})
	require.NoError(t, err)
	n, _ = l.waits(oona.ID, "2027-07-01")
	require.Equal(t, "White rust: confirmed by a laboratory or inspector", n.Title)
	group, _ = l.waits(0, "2027-07-01")
	require.Contains(t, group.Text, "Piet tells it so that all can look in time.")

	freed, err := l.ClearBatch(t.Context(), by(oona, "2027-07-02"), tray.ID, "spotless")
	require.NoError(t, err)
	n, _ = l.waits(piet.ID, "2027-07-02")
	require.Equal(t, "27-1 (Saltmarsh) may be passed on again; what else is held for it stays held. Reason: spotless.", n.Text)
	_, err = l.Undo(t.Context(), by(oona, "2027-07-02"), freed.Event.ID, "the wrong tray")
	require.NoError(t, err)
	n, _ = l.waits(piet.ID, "2027-07-02")
	require.Equal(t, "Held back again: white rust", n.Title)

	_, err = l.ClearReport(t.Context(), by(piet, "2027-07-03"), out.Report.ID, "it was soot")
	require.NoError(t, err)
	n, _ = l.waits(oona.ID, "2027-07-03")
	require.Equal(t, "What was held back for it may be passed on again, unless something else holds it back too. Reason: it was soot.", n.Text)
	_, some = l.compose(scheduler.Subject{Kind: scheduler.Told, Member: oona.ID, Tiding: register.Tiding{
		Coop: l.coop, Member: oona.ID, Kind: register.LookToday, Subject: out.Report.ID}}, "2027-07-03")
	require.False(t, some, "what was cleared meanwhile needs no look")

	_, err = l.Undo(t.Context(), by(piet, "2027-07-04"), out.Report.Event, "another co-op's plants")
	require.NoError(t, err)
	n, _ = l.waits(oona.ID, "2027-07-04")
	require.Contains(t, n.Title, "Taken back")
}
