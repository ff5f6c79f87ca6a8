package register_test

import (
	"context"
	"database/sql"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/register"
)

func nothing(context.Context, *sql.Tx) error { return nil }

func TestAStrokeIsStruckOnceWhateverElseHappens(t *testing.T) {
	t.Parallel()
	g := plant(t)
	ctx := t.Context()
	due, err := g.ChangedStrokes(ctx, 10)
	require.NoError(t, err)
	require.Len(t, due, 1, "a new co-op is taken up")
	require.Zero(t, due[0].Next)
	stroke := due[0]
	stroke.Adapter, stroke.Times, stroke.Zone, stroke.Last, stroke.Next = register.Terminal, "07:00", "Europe/Dublin", day(t, "2027-03-01"), g.at("2027-03-02")
	struck := 0
	count := func(_ context.Context, _ *sql.Tx, kept []register.Stroke) error { struck += len(kept); return nil }
	require.NoError(t, g.Strike(ctx, g.at("2027-03-01"), []register.Stroke{stroke}, count))
	require.Equal(t, 1, struck)
	pulse, err := g.Pulse(ctx, register.Terminal, register.Whose{})
	require.NoError(t, err)
	require.False(t, pulse.Changed || pulse.Tidings)
	require.True(t, pulse.Next.Equal(g.at("2027-03-02")))

	failed := errors.New("the disk is full")
	stroke.Last = day(t, "2027-03-02")
	require.ErrorIs(t, g.Strike(ctx, g.at("2027-03-02"), []register.Stroke{stroke}, func(context.Context, *sql.Tx, []register.Stroke) error { return failed }), failed)
	kept, err := g.StrokeOf(ctx, g.nora.Coop, 0, register.StrokeNotice)
	require.NoError(t, err)
	require.Equal(t, day(t, "2027-03-01"), kept.Last, "what could not be enqueued is not struck")

	coop, err := g.Coop(ctx, g.nora.Coop)
	require.NoError(t, err)
	coop.Place.Zone = "Pacific/Apia"
	_, err = g.Setup(ctx, g.by(g.nora, "2027-03-02"), coop)
	require.NoError(t, err)
	require.NoError(t, g.Strike(ctx, g.at("2027-03-02"), []register.Stroke{stroke}, count))
	require.Equal(t, 1, struck, "its settings changed meanwhile")
	changed, err := g.ChangedStrokes(ctx, 10)
	require.NoError(t, err)
	require.Len(t, changed, 1)
	require.True(t, changed[0].Changed.Equal(g.at("2027-03-02")))
}

func TestWhatWasReceivedIsKept(t *testing.T) {
	t.Parallel()
	g := plant(t)
	ctx := t.Context()
	coop := g.nora.Coop
	one := register.Telling{Key: "k1", Coop: coop, Kind: "notice", Day: day(t, "2027-03-01"), Doubt: true}
	require.NoError(t, g.KeepTelling(ctx, g.at("2027-03-01"), nothing, one))
	kept, err := g.Telling(ctx, "k1")
	require.NoError(t, err)
	require.Equal(t, one, kept)
	latest, err := g.LatestTelling(ctx, coop, 0)
	require.NoError(t, err)
	require.Zero(t, latest, "nothing has ended")

	one.End, one.Receipt, one.Doubt = register.TellingKept, "message 7", false
	require.NoError(t, g.KeepTelling(ctx, g.at("2027-03-01"), nothing, one))
	again := one
	again.Receipt, again.End = "message 8", register.TellingGivenUp
	require.NoError(t, g.KeepTelling(ctx, g.at("2027-03-02"), nothing, again))
	latest, err = g.LatestTelling(ctx, coop, 0)
	require.NoError(t, err)
	require.Equal(t, "message 7", latest.Receipt, "the first end counts")
	stroke, err := g.StrokeOf(ctx, coop, 0, register.StrokeNotice)
	require.NoError(t, err)
	require.Equal(t, day(t, "2027-03-01"), stroke.Said)

	require.NoError(t, g.ForgetTellings(ctx, g.at("2027-03-03"), g.at("2027-03-02")))
	gone, err := g.Telling(ctx, "k1")
	require.NoError(t, err)
	require.Zero(t, gone)
}

func TestARestoredRegisterKnowsUntilWhenItIsInDoubt(t *testing.T) {
	t.Parallel()
	g := plant(t)
	ctx := t.Context()
	until, err := g.Restored(ctx, g.at("2027-03-02"))
	require.NoError(t, err)
	require.Zero(t, until)
	dir := t.TempDir()
	copied, other := filepath.Join(dir, "copy.db"), filepath.Join(dir, "other.db")
	require.NoError(t, g.Backup(ctx, copied))
	_, err = register.Restore(ctx, copied, other)
	require.NoError(t, err)
	reg, err := register.Open(ctx, other)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reg.Close()) })
	for _, at := range []time.Time{g.at("2027-03-05"), g.at("2027-03-09")} {
		until, err = reg.Restored(ctx, at)
		require.NoError(t, err)
		require.True(t, until.Equal(g.at("2027-03-05")), "the first start counts")
	}
}
