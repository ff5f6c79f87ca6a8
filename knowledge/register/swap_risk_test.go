package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

func TestAVarietyAtRisk(t *testing.T) {
	t.Parallel()
	l := swapLane(t, "Mara")
	b := l.has("Piet", "Gilt", crop.Boxed, 9)
	l.has("Nora", "Gilt", crop.Boxed, 2)
	l.has("Mara", "Other", crop.Boxed, 9)
	all, err := l.AtRisk(t.Context(), l.nora.Coop, 10)
	require.NoError(t, err)
	require.Equal(t, []register.Risk{{Variety: l.kind("Other").ID, Name: "Other", Members: 1, Only: "Mara", Plants: 9, Could: []string{"Nora", "Piet"}}}, all)
	_, err = l.Count(t.Context(), l.who("Piet"), register.Tally{Batch: b.ID, Number: 3, Died: true})
	require.NoError(t, err)
	tidings, err := l.Tidings(t.Context(), 10)
	require.NoError(t, err)
	require.Len(t, tidings, 1)
	require.Equal(t, register.TellRisk, tidings[0].Kind)
	require.Zero(t, tidings[0].Member, "the group hears of it")
	risk, ok, err := l.RiskOf(t.Context(), l.nora.Coop, l.kind("Gilt").ID)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, 5, risk.Plants)
}

const holdBatch = `INSERT INTO hold (batch, why, since, last) VALUES ($1, 'apart', '2026-01-01', '2026-05-01')`

// A batch that is held back half-way is not handed over; what is on its way already is received, and held with it.
func TestAHoldComesHalfWay(t *testing.T) {
	t.Parallel()
	for _, given := range []bool{false, true} {
		l := swapLane(t)
		_, b := l.offers("Piet", "Gilt", 6)
		l.wants("Nora", "Gilt", 4)
		s := l.agree(l.propose()[0], "Nora", "Piet").Swaps[0]
		l.wants("Nora", "Gilt", 1)
		open := l.propose()[0]
		if given {
			_, err := l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: s.ID})
			require.NoError(t, err)
		}
		_, err := l.DB().ExecContext(t.Context(), holdBatch, b.ID)
		require.NoError(t, err)
		_, err = l.Agree(t.Context(), l.who("Nora"), open.ID)
		refused(t, fault.Later, "stands apart", err)
		l.wants("Nora", "Gilt", 1)
		m, err := l.Match(t.Context(), l.nora.Coop, day(t, l.on))
		require.NoError(t, err)
		require.Empty(t, m.Proposals)
		on, err := l.OnOffer(t.Context(), register.Shelf{Coop: l.nora.Coop, Today: day(t, l.on), Limit: 10})
		require.NoError(t, err)
		require.Empty(t, on, "what is held back is on offer to nobody")
		if !given {
			_, err = l.Given(t.Context(), l.who("Piet"), register.Transfer{Swap: s.ID})
			refused(t, fault.Later, "stands apart", err)
			continue
		}
		s, _, err = l.Received(t.Context(), l.who("Nora"), register.Transfer{Swap: s.ID})
		require.NoError(t, err)
		h, err := l.HoldOf(t.Context(), s.Made, day(t, l.on))
		require.NoError(t, err)
		require.Equal(t, "2026-05-01", h.Last.String(), "held as long as what it came from")
	}
}
