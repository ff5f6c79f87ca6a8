package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/register"
)

// A box from which the dead were counted out tells of its living too, before they are woken and once only.
func TestRatesCountTheLivingOfACountedBox(t *testing.T) {
	t.Parallel()
	g := plant(t)
	box, other := g.add(crop.Boxed, 40, "2026-11-20"), g.add(crop.Boxed, 30, "2026-11-20")
	rates := func() register.Counts {
		counts, err := g.Rates(t.Context(), g.nora.Coop, g.late.ID, g.nora.ID)
		require.NoError(t, err)
		return counts
	}
	require.Zero(t, rates(), "nothing was counted yet")

	out, err := g.Count(t.Context(), g.by(g.nora, "2027-01-10"), register.Tally{Batch: box.ID, Number: 32, Died: true})
	require.NoError(t, err)
	require.Equal(t, register.Counts{StoolsBoxed: 40, StoolsWoken: 32}, rates())
	_, err = g.Count(t.Context(), g.by(g.nora, "2027-01-10"), register.Tally{Batch: other.ID, Number: 28})
	require.NoError(t, err)
	require.Equal(t, register.Counts{StoolsBoxed: 40, StoolsWoken: 32}, rates(), "a wrong count is no death")

	g.done("2027-01-20", register.Step{Kind: crop.Wake, Batches: []int64{box.ID}, Lost: 2})
	require.Equal(t, register.Counts{StoolsBoxed: 40, StoolsWoken: 30}, rates())
	require.NotZero(t, out.Event.ID)
}
