package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// A wrong first day is put right, moves what rests on it, and comes back with an undo.
func TestAnotherFirstDay(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Struck, 40, "2027-03-10")
	by := g.by(g.nora, "2027-03-20")
	move := func(since string) (register.Outcome, error) {
		return g.Move(t.Context(), by, register.Shift{Batch: b.ID, Since: day(t, since)})
	}
	before, err := g.Upcoming(t.Context(), g.nora.ID, day(t, "2027-03-20"), 9)
	require.NoError(t, err)
	out, err := move("2027-03-03")
	require.NoError(t, err)
	require.Equal(t, day(t, "2027-03-03"), out.Batches[0].Since)
	require.Equal(t, day(t, "2027-03-03"), out.Batches[0].Made)
	require.NotEmpty(t, out.Moved)
	for _, m := range out.Moved {
		require.Less(t, m.To, m.From, m.Kind)
	}
	_, err = g.Undo(t.Context(), by, out.Event.ID, "it was right")
	require.NoError(t, err)
	again, err := g.Batch(t.Context(), b.ID)
	require.NoError(t, err)
	require.Equal(t, b, again)
	after, err := g.Upcoming(t.Context(), g.nora.ID, day(t, "2027-03-20"), 9)
	require.NoError(t, err)
	for i := range before {
		require.Equal(t, before[i].Due, after[i].Due)
	}
	_, err = move("2027-04-01")
	refused(t, fault.Unclear, "still to come", err)
	_, err = g.Done(t.Context(), by, register.Step{Kind: crop.Pot, Batches: []int64{b.ID}})
	require.NoError(t, err)
	_, err = move("2027-03-15")
	refused(t, fault.Taken, "/job undo", err)
	g.sound()
}
