package register_test

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// Names of a platform are nobody's request: with one that this register would not take, all else can still be asked.
func TestNamesOfAPlatformAreMadeToFit(t *testing.T) {
	t.Parallel()
	g := plant(t)
	e := register.Entry{CoopKey: "7", CoopName: strings.Repeat("Growers of ", 9), Key: "123456789012345678", Name: "Oona 👩\u200d🌾", Governed: true, At: noon(t, "2027-03-01")}
	seat, err := g.Enter(t.Context(), e)
	require.NoError(t, err)
	require.Equal(t, "Oona 👩🌾", seat.Member.Name)
	require.Len(t, seat.Coop.Name, 60)
	e.Name = "\u200b"
	again, err := g.Enter(t.Context(), e)
	require.NoError(t, err)
	require.Equal(t, seat.Member.ID, again.Member.ID)
	require.Equal(t, "member 5678", again.Member.Name)
	e.Governed = false
	_, err = g.Enter(t.Context(), e)
	refused(t, fault.Unclear, "The name", err)
}

func TestServers(t *testing.T) {
	t.Parallel()
	g := plant(t)
	at := noon(t, "2027-03-01")
	s, err := g.Arrive(t.Context(), "hill", "Hill", at)
	require.NoError(t, err)
	require.Equal(t, register.Server{Key: "hill", Name: "Hill", Seen: at}, s)
	require.NoError(t, g.Greeted(t.Context(), "hill", at))
	require.NoError(t, g.Greeted(t.Context(), "hill", at.Add(time.Hour)))
	require.NoError(t, g.Lacking(t.Context(), "hill", 5, at))
	require.NoError(t, g.Removed(t.Context(), "hill", at.Add(time.Hour)))
	require.NoError(t, g.Removed(t.Context(), "hill", at.Add(2*time.Hour)))
	s, err = g.Server(t.Context(), "hill")
	require.NoError(t, err)
	require.Equal(t, register.Server{Key: "hill", Name: "Hill", Seen: at, Greeted: at, Gone: at.Add(time.Hour), Lacking: 5}, s)
	all, err := g.Servers(t.Context())
	require.NoError(t, err)
	require.Empty(t, all)

	s, err = g.Arrive(t.Context(), "hill", "Hill Growers", at.Add(3*time.Hour))
	require.NoError(t, err)
	require.True(t, s.Gone.IsZero() && s.Greeted.Equal(at) && s.Seen.Equal(at), "asked back, it is known: %v", s)
	all, err = g.Servers(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 1)
}

// What is kept of a co-op goes when its time is over, whole, and nothing of others with it.
func TestForget(t *testing.T) {
	t.Parallel()
	g := plant(t)
	at := noon(t, "2027-03-01")
	other, err := g.Enter(t.Context(), register.Entry{CoopKey: "dale", CoopName: "Dale Growers", Key: "wim", Name: "Wim", At: at})
	require.NoError(t, err)
	g.add(crop.Boxed, 12, "2026-12-01")
	require.NoError(t, g.Tell(t.Context(), g.by(g.nora, "2027-02-01"), g.piet.ID, "test", 7, nil))
	require.NoError(t, g.Tell(t.Context(), g.by(g.nora, "2027-02-01"), 0, "test", 7, nil))
	_, err = g.Set(t.Context(), g.by(g.nora, "2027-02-01"), register.StopShift, 0.5)
	require.NoError(t, err)
	_, err = g.KeepRequest(t.Context(), register.Kept{Key: "k", Coop: "hill", Request: "/help", At: at})
	require.NoError(t, err)
	for _, key := range []string{"hill", "dale"} {
		_, err = g.Arrive(t.Context(), key, key, at)
		require.NoError(t, err)
	}
	require.NoError(t, g.Removed(t.Context(), "hill", at))

	gone, err := g.Forget(t.Context(), at.Add(register.WaitsFor-time.Minute))
	require.NoError(t, err)
	require.Empty(t, gone)
	gone, err = g.Forget(t.Context(), at.Add(register.WaitsFor))
	require.NoError(t, err)
	require.Len(t, gone, 1)
	coops, err := g.Coops(t.Context())
	require.NoError(t, err)
	require.Equal(t, []register.Coop{other.Coop}, coops)
	s, err := g.Server(t.Context(), "hill")
	require.NoError(t, err)
	require.Zero(t, s)
	_, found, err := g.KeptRequest(t.Context(), "k", at)
	require.NoError(t, err)
	require.False(t, found)
	for _, table := range []string{"member WHERE coop <> 2", "variety", "batch", "event", "touch", "job", "plan", "tiding", "setting", "mark"} {
		var left int
		require.NoError(t, g.DB().QueryRow("SELECT count(*) FROM "+table).Scan(&left))
		require.Zero(t, left, table)
	}
}

func TestKeptRequests(t *testing.T) {
	t.Parallel()
	g := plant(t)
	at := noon(t, "2027-03-01")
	k := register.Kept{Key: "one", Coop: "hill", Who: "piet", Request: "/stock add variety:x", At: at}
	key, err := g.KeepRequest(t.Context(), k)
	require.NoError(t, err)
	require.Equal(t, "one", key)
	got, found, err := g.KeptRequest(t.Context(), "one", at.Add(register.KeptFor-time.Second))
	require.NoError(t, err)
	require.True(t, found)
	require.Equal(t, k, got)
	_, found, err = g.KeptRequest(t.Context(), "one", at.Add(register.KeptFor))
	require.NoError(t, err)
	require.False(t, found, "its time is over")

	k.Key, k.At = "two", at.Add(time.Hour)
	key, err = g.KeepRequest(t.Context(), k)
	require.NoError(t, err)
	require.Equal(t, "one", key, "the same request is kept once, and anew")
	_, err = g.Forget(t.Context(), at.Add(register.KeptFor))
	require.NoError(t, err)
	_, found, err = g.KeptRequest(t.Context(), "one", at.Add(register.KeptFor))
	require.NoError(t, err)
	require.True(t, found)

	x, err := g.Export(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Len(t, x.Kept, 1)
	require.NoError(t, g.Leave(t.Context(), g.by(g.piet, "2027-03-02")))
	_, found, err = g.KeptRequest(t.Context(), "one", at)
	require.NoError(t, err)
	require.False(t, found, "it goes with its asker")
}

func TestIdentifiesAreCountedAcrossRestarts(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "shortday.db")
	r, err := register.Open(t.Context(), path)
	require.NoError(t, err)
	kept, err := r.Identifies(t.Context())
	require.NoError(t, err)
	require.Zero(t, kept)
	at := noon(t, "2027-03-01")
	require.NoError(t, r.KeepIdentifies(t.Context(), register.Identifies{Since: at, Last: at, Count: 7}))
	want := register.Identifies{Since: at, Last: at.Add(time.Hour), Count: 8}
	require.NoError(t, r.KeepIdentifies(t.Context(), want))
	require.NoError(t, r.Close())
	r, err = register.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, r.Close()) })
	kept, err = r.Identifies(t.Context())
	require.NoError(t, err)
	require.Equal(t, want, kept)
}

func TestReach(t *testing.T) {
	t.Parallel()
	g := plant(t)
	at := noon(t, "2027-03-01")
	homes := func() []register.Home {
		all, err := g.Homes(t.Context(), "piet")
		require.NoError(t, err)
		return all
	}
	require.Empty(t, homes(), "no server is known")
	_, err := g.Arrive(t.Context(), "hill", "Hill", at)
	require.NoError(t, err)
	require.Equal(t, []register.Home{{Key: "hill", Name: "Hill Growers"}}, homes())
	require.NoError(t, g.Closed(t.Context(), g.piet.ID, at))
	require.NoError(t, g.Closed(t.Context(), g.piet.ID, at.Add(time.Hour)))
	require.Len(t, homes(), 1)
	require.NoError(t, g.Away(t.Context(), g.piet.ID, at.Add(time.Hour)))
	require.Empty(t, homes())
	x, err := g.Export(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Equal(t, register.Reach{Closed: at, Away: at.Add(time.Hour)}, x.Reach)
	member, unreached, err := g.Unreached(t.Context(), "hill", "piet")
	require.NoError(t, err)
	require.Equal(t, g.piet.ID, member)
	require.Equal(t, x.Reach, unreached)
	for _, who := range []string{"nora", "nobody"} {
		member, unreached, err := g.Unreached(t.Context(), "hill", who)
		require.NoError(t, err)
		require.Zero(t, member)
		require.Zero(t, unreached)
	}
	require.NoError(t, g.Reached(t.Context(), g.piet.ID, at))
	reach, err := g.Reach(t.Context(), g.piet.ID)
	require.NoError(t, err)
	require.Zero(t, reach)
	require.NoError(t, g.Removed(t.Context(), "hill", at))
	require.Empty(t, homes(), "where we are no longer, nobody is at home")
}

// Where the platform governs, it alone makes stewards: neither being first nor having been one does.
func TestGovernedStewards(t *testing.T) {
	t.Parallel()
	g := plant(t)
	e := register.Entry{CoopKey: "dale", CoopName: "Dale Growers", Key: "114700000000000001", Name: "Wim", Governed: true, At: noon(t, "2027-03-01")}
	for _, steward := range []bool{false, true, false} {
		e.Steward = steward
		seat, err := g.Enter(t.Context(), e)
		require.NoError(t, err)
		require.Equal(t, steward, seat.Member.Steward)
	}
	seat, err := g.Find(t.Context(), "dale", e.Key)
	require.NoError(t, err)
	require.NoError(t, g.Govern(t.Context(), seat.Member.ID, true, e.At))
	seat, err = g.Find(t.Context(), "dale", e.Key)
	require.NoError(t, err)
	require.True(t, seat.Member.Steward)

	m, err := g.MemberNamed(t.Context(), seat.Coop.ID, e.Key)
	require.NoError(t, err)
	require.Equal(t, seat.Member.ID, m.ID)
	_, err = g.MemberNamed(t.Context(), seat.Coop.ID, "114700000000000002")
	refused(t, fault.Missing, "no member of the co-op yet", err)
}
