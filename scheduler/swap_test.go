package scheduler_test

import (
	"context"
	"database/sql"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
	"shortday/scheduler"
)

// tells composes all tidings that wait, takes them, and gives the titles by member, "" for the group.
func (l *lane) tells(on string) map[string][]string {
	l.t.Helper()
	waiting, err := l.Tidings(l.t.Context(), 1000)
	require.NoError(l.t, err)
	titles := map[string][]string{}
	for _, tiding := range waiting {
		n, some, err := scheduler.Compose(l.t.Context(), l.Register, scheduler.Subject{Kind: scheduler.Told, Coop: tiding.Coop, Member: tiding.Member, Day: tiding.On, Tiding: tiding}, at(l.t, on))
		require.NoError(l.t, err)
		if some {
			require.NotEmpty(l.t, n.Text)
			titles[n.Member.Name] = append(titles[n.Member.Name], n.Title)
		}
		require.NoError(l.t, l.TakeTiding(l.t.Context(), tiding.ID, at(l.t, on), func(context.Context, *sql.Tx) error { return nil }))
	}
	return titles
}

func TestASwapIsToldStepByStep(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	oona, maren := l.member("Oona", "2026-02-01"), l.member("Maren", "2026-02-01")
	v := l.variety(oona, "Saltmarsh", variety.Late, "2026-02-01")
	by := func(m register.Member, on string) register.Actor { return register.Actor{Member: m.ID, At: at(t, on)} }
	out, err := l.Add(t.Context(), by(maren, "2026-02-01"), register.Stock{Variety: v.ID, Stage: crop.Potted, Count: 9})
	require.NoError(t, err)
	_, err = l.MakeOffer(t.Context(), by(maren, "2026-02-01"), register.Offering{Batch: out.Batches[0].ID, Number: 6, Stock: exchange.Plants, From: day(t, "2026-02-05")})
	require.NoError(t, err)
	_, err = l.MakeWant(t.Context(), by(oona, "2026-02-01"), register.Wish{Variety: v.ID, Number: 8, Stock: exchange.Plants, Last: day(t, "2026-02-20")})
	require.NoError(t, err)
	_, made, err := l.Propose(t.Context(), by(oona, "2026-02-01"))
	require.NoError(t, err)
	require.Equal(t, map[string][]string{"Oona": {"Proposal 1: do you agree?"}, "Maren": {"Proposal 1: do you agree?"}}, l.tells("2026-02-01"))

	_, err = l.Agree(t.Context(), by(oona, "2026-02-01"), made[0].ID)
	require.NoError(t, err)
	strike := func(on string) {
		require.NoError(t, l.Strike(t.Context(), at(t, on), []register.Stroke{{Coop: l.coop, Zone: "Europe/Dublin"}, {Coop: l.coop, Zone: "nowhere"}}, nothing))
	}
	strike("2026-02-06")
	require.Equal(t, map[string][]string{"Maren": {"Proposal 1 still waits for your word"}}, l.tells("2026-02-06"), "who has agreed is not reminded")
	_, err = l.Agree(t.Context(), by(maren, "2026-02-06"), made[0].ID)
	require.NoError(t, err)
	require.Equal(t, map[string][]string{"Oona": {"Proposal 1 is agreed by all"}, "Maren": {"Proposal 1 is agreed by all"}}, l.tells("2026-02-06"))
	strike("2026-02-07")
	strike("2026-02-08")
	require.Equal(t, map[string][]string{"Oona": {"To receive: swap 1"}, "Maren": {"To hand over: swap 1"}}, l.tells("2026-02-08"), "once")
	strike("2026-02-14")
	require.Equal(t, map[string][]string{"Oona": {"Your want of Saltmarsh ends on Fri 20 Feb 2026"}}, l.tells("2026-02-14"))
	strike("2026-02-20")
	require.Equal(t, map[string][]string{"Oona": {"To receive: swap 1"}, "Maren": {"To hand over: swap 1"}}, l.tells("2026-02-20"), "on the last day")
	_, err = l.Given(t.Context(), by(maren, "2026-02-20"), register.Transfer{Swap: 1})
	require.NoError(t, err)
	require.Equal(t, map[string][]string{"Oona": {"Swap 1: what did you receive?"}}, l.tells("2026-02-20"))
	_, _, err = l.Received(t.Context(), by(oona, "2026-02-20"), register.Transfer{Swap: 1, Number: 5})
	require.NoError(t, err)
	require.Equal(t, map[string][]string{"Maren": {"Swap 1 came short"}}, l.tells("2026-02-20"))
	_, err = l.Correct(t.Context(), by(oona, "2026-02-20"), 1, 6, "found one")
	require.NoError(t, err)
	require.Equal(t, map[string][]string{"Maren": {"Swap 1 was put right"}}, l.tells("2026-02-20"))
}

// TestANameThatBeginsASentence: it may begin with any letter, and a text may be empty.
func TestANameThatBeginsASentence(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	oona, asa := l.member("Oona", "2026-02-01"), l.member("Åsa", "2026-02-01")
	v := l.variety(oona, "Saltmarsh", variety.Late, "2026-02-01")
	by := func(m register.Member) register.Actor { return register.Actor{Member: m.ID, At: at(t, "2026-02-01")} }
	out, err := l.Add(t.Context(), by(asa), register.Stock{Variety: v.ID, Stage: crop.Potted, Count: 9})
	require.NoError(t, err)
	_, err = l.MakeOffer(t.Context(), by(asa), register.Offering{Batch: out.Batches[0].ID, Number: 2, Stock: exchange.Rooted})
	require.NoError(t, err)
	_, err = l.MakeWant(t.Context(), by(oona), register.Wish{Variety: v.ID, Number: 2, Stock: exchange.Rooted, Last: day(t, "2026-02-20")})
	require.NoError(t, err)
	_, made, err := l.Propose(t.Context(), by(oona))
	require.NoError(t, err)
	l.tells("2026-02-01")
	_, err = l.Refuse(t.Context(), by(asa), made[0].ID, 0, "")
	require.NoError(t, err)
	waiting, err := l.Tidings(t.Context(), 1000)
	require.NoError(t, err)
	require.NotEmpty(t, waiting)
	n, some, err := scheduler.Compose(t.Context(), l.Register, scheduler.Subject{Kind: scheduler.Told, Coop: l.coop, Member: oona.ID, Day: waiting[0].On, Tiding: waiting[0]}, at(t, "2026-02-01"))
	require.NoError(t, err)
	require.True(t, some)
	require.Contains(t, n.Text, "\n\nÅsa ")
}

func nothing(context.Context, *sql.Tx, []register.Stroke) error { return nil }

func TestWhatCameToNothingIsTold(t *testing.T) {
	t.Parallel()
	l := openLane(t)
	oona, maren := l.member("Oona", "2026-02-01"), l.member("Maren", "2026-02-01")
	v := l.variety(oona, "Saltmarsh", variety.Late, "2026-02-01")
	by := func(m register.Member) register.Actor { return register.Actor{Member: m.ID, At: at(t, "2026-02-01")} }
	out, err := l.Add(t.Context(), by(maren), register.Stock{Variety: v.ID, Stage: crop.Potted, Count: 9})
	require.NoError(t, err)
	offer := func() {
		_, err := l.MakeOffer(t.Context(), by(maren), register.Offering{Batch: out.Batches[0].ID, Number: 2, Stock: exchange.Rooted})
		require.NoError(t, err)
	}
	want := func() {
		_, err := l.MakeWant(t.Context(), by(oona), register.Wish{Variety: v.ID, Number: 2, Stock: exchange.Rooted, Last: day(t, "2026-02-20")})
		require.NoError(t, err)
	}
	propose := func() register.Proposal {
		_, made, err := l.Propose(t.Context(), by(oona))
		require.NoError(t, err)
		l.tells("2026-02-01")
		return made[0]
	}
	offer()
	want()
	_, err = l.Refuse(t.Context(), by(oona), propose().ID, 0, "no room")
	require.NoError(t, err)
	require.Equal(t, map[string][]string{"Maren": {"Proposal 1 came to nothing"}}, l.tells("2026-02-01"), "not to whom refused")

	offer()
	p := propose()
	for _, m := range []register.Member{oona, maren} {
		_, err = l.Agree(t.Context(), by(m), p.ID)
		require.NoError(t, err)
	}
	_, _, err = l.Cancel(t.Context(), by(maren), p.Swaps[0].ID, "frost")
	require.NoError(t, err)
	require.Equal(t, map[string][]string{"Oona": {"Swap 2 comes to nothing"}, "Maren": {"Swap 2 comes to nothing"}}, l.tells("2026-02-01"), "that it was agreed is no longer so")
	_, err = l.Done(t.Context(), by(maren), register.Step{Kind: crop.PlantOut, Batches: []int64{out.Batches[0].ID}})
	require.NoError(t, err)
	require.Equal(t, []string{"Offer 1 ended", "Offer 2 ended"}, l.tells("2026-02-01")["Maren"])
	_, err = l.Count(t.Context(), by(maren), register.Tally{Batch: out.Batches[0].ID, Number: 4, Died: true})
	require.NoError(t, err)
	require.Empty(t, l.tells("2026-02-01"), "it was hers alone before")
}
