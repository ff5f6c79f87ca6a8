package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/fault"
)

// With whoever left the server nothing is proposed any more, and what was proposed is not agreed.
func TestWhoLeftTheServerSwapsNoMore(t *testing.T) {
	t.Parallel()
	l := swapLane(t, "Mara")
	l.offers("Piet", "Gilt", 5)
	l.wants("Nora", "Gilt", 3)
	p := l.propose()[0]
	keys, err := l.Traders(t.Context(), l.nora.Coop)
	require.NoError(t, err)
	require.Equal(t, []string{l.nora.Key, l.piet.Key}, keys)
	require.NoError(t, l.Away(t.Context(), l.piet.ID, noon(t, l.on)))
	_, err = l.Agree(t.Context(), l.who("Nora"), p.ID)
	refused(t, fault.Taken, "Piet has left the co-op's server", err)
	_, err = l.Refuse(t.Context(), l.who("Nora"), p.ID, 0, "")
	require.NoError(t, err)
	l.wants("Mara", "Gilt", 3)
	require.Empty(t, l.propose())
	keys, err = l.Traders(t.Context(), l.nora.Coop)
	require.NoError(t, err)
	require.NotContains(t, keys, l.piet.Key)
	require.NoError(t, l.Reached(t.Context(), l.piet.ID, noon(t, l.on)))
	require.Len(t, l.propose(), 1, "back again")
}
