package register_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/fault"
	"shortday/knowledge/photo"
	"shortday/knowledge/register"
)

func snap() photo.Photo {
	return photo.Photo{Width: 4, Height: 3, Data: []byte("large"), Small: []byte("small")}
}

func TestNotesArePrivateUnlessShared(t *testing.T) {
	t.Parallel()
	g := plant(t)
	nora := g.by(g.nora, "2026-02-01")
	n, err := g.AddNote(t.Context(), nora, register.Note{Words: "rust", Variety: g.late.ID, Spot: "Bench 2"}, []photo.Photo{snap(), snap()})
	require.NoError(t, err)
	require.Equal(t, 2, n.Photos)
	seen := func(m register.Member, d register.Diary) int {
		notes, err := g.Notes(t.Context(), m, d, 10)
		require.NoError(t, err)
		return len(notes)
	}
	require.Equal(t, 1, seen(g.nora, register.Diary{Spot: "bench 2"}))
	require.Zero(t, seen(g.piet, register.Diary{Shared: true}))
	_, err = g.NoteFor(t.Context(), g.piet, n.ID)
	refused(t, fault.Missing, "none of that number is shared", err)
	_, err = g.ChangeNote(t.Context(), nora, n.ID, "", true, nil)
	require.NoError(t, err)
	require.Equal(t, 1, seen(g.piet, register.Diary{Shared: true, Variety: g.late.ID}))
	require.Zero(t, seen(g.piet, register.Diary{Shared: true, From: day(t, "2026-02-02")}))
	kept, err := g.NoteFor(t.Context(), g.piet, n.ID)
	require.NoError(t, err)
	require.Equal(t, "rust", kept.Words)
	refused(t, fault.Barred, "members change only their own", g.UndoNote(t.Context(), g.by(g.piet, "2026-02-01"), n.ID))
	require.NoError(t, g.UndoNote(t.Context(), nora, n.ID))
	require.Zero(t, seen(g.piet, register.Diary{Shared: true}))
	require.Zero(t, seen(g.nora, register.Diary{}))
	x, err := g.Export(t.Context(), g.nora.ID)
	require.NoError(t, err)
	require.Len(t, x.Notes, 1, "kept as undone")
}

func TestNoteGoesWithWhatItCameWith(t *testing.T) {
	t.Parallel()
	g := plant(t)
	g.add(crop.Housed, 4, "2026-01-05")
	nora := g.by(g.nora, "2026-02-01")
	out, err := g.SawBloom(t.Context(), nora, register.Bloom{Variety: g.late.ID, Full: day(t, "2026-02-01"), Note: "early"})
	require.NoError(t, err)
	n, err := g.AddNote(t.Context(), nora, register.Note{Event: out.Event.ID, Variety: g.late.ID}, []photo.Photo{snap()})
	require.NoError(t, err)
	require.Equal(t, "early", n.Words, "the words of what it came with")
	_, err = g.Undo(t.Context(), nora, out.Event.ID, "mistaken")
	require.NoError(t, err)
	notes, err := g.Notes(t.Context(), g.nora, register.Diary{}, 10)
	require.NoError(t, err)
	require.Empty(t, notes)
}

// Photos stand in the register itself: a backup has them, and they go with their member.
func TestPhotosAreBackedUpAndLeave(t *testing.T) {
	t.Parallel()
	g := plant(t)
	nora := g.by(g.nora, "2026-02-01")
	n, err := g.AddNote(t.Context(), nora, register.Note{}, []photo.Photo{snap()})
	require.NoError(t, err)
	copied := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, g.Backup(t.Context(), copied))
	back, err := register.Open(t.Context(), copied)
	require.NoError(t, err)
	photos, err := back.NotePhotos(t.Context(), n.ID)
	require.NoError(t, err)
	require.Equal(t, "large", string(photos[0].Data))
	require.NoError(t, back.Close())
	require.NoError(t, g.Leave(t.Context(), nora))
	for _, table := range []string{"note", "photo"} {
		var left int
		require.NoError(t, g.DB().QueryRowContext(t.Context(), `SELECT count(*) FROM `+table).Scan(&left))
		require.Zero(t, left, table)
	}
}

func TestNotesRefuse(t *testing.T) {
	t.Parallel()
	g := plant(t)
	b := g.add(crop.Boxed, 4, "2026-01-05")
	_, err := g.AddNote(t.Context(), g.by(g.nora, "2026-02-01"), register.Note{}, nil)
	refused(t, fault.Unclear, "What is there to remember?", err)
	_, err = g.AddNote(t.Context(), g.by(g.nora, "2026-02-01"), register.Note{Words: "x", On: day(t, "2026-02-02")}, nil)
	refused(t, fault.Unclear, "still to come", err)
	_, err = g.AddNote(t.Context(), g.by(g.piet, "2026-02-01"), register.Note{Words: "x", Batch: b.ID}, nil)
	refused(t, fault.Barred, "members change only their own", err)
	_, err = g.AddNote(t.Context(), g.by(g.piet, "2026-02-01"), register.Note{}, make([]photo.Photo, register.MostPhotos+1))
	refused(t, fault.Taken, "no more are", err)
}
