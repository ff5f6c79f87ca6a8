package register

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
	"shortday/knowledge/photo"
	"shortday/knowledge/variety"
)

// Note is an entry of a member's diary. Others of the co-op see it only where it is shared.
type Note struct {
	ID       int64
	Coop     int64
	Member   int64
	Owner    string
	Variety  int64
	Name     string // of the variety
	Batch    int64
	Mark     string // of the batch
	Event    int64  // the bloom or the picking that it came with; what is undone takes its note along
	Spot     string
	On       calendar.Day
	Words    string
	Shared   bool
	At       time.Time
	UndoneAt time.Time
	Photos   int
}

const (
	selectNotes = `
SELECT n.id, n.coop, n.member, m.name, n.variety, COALESCE(v.name, ''), n.batch, COALESCE(b.mark, ''), n.event, n.spot, n.day,
       CASE WHEN n.words = '' THEN COALESCE(e.note, '') ELSE n.words END, n.shared, n.at, n.undone_at,
       (SELECT count(*) FROM photo p WHERE p.note = n.id)
FROM note n JOIN member m ON m.id = n.member LEFT JOIN variety v ON v.id = n.variety LEFT JOIN batch b ON b.id = n.batch
     LEFT JOIN event e ON e.id = n.event
`
	noteStands = ` AND n.undone_at = 0 AND (n.event IS NULL OR e.undone_at = 0)`
	noteFits   = ` AND ($4 = 0 OR n.variety = $4) AND ($5 = 0 OR n.batch = $5) AND ($6 = '' OR n.folded = $6) ORDER BY n.day DESC, n.id DESC LIMIT $7`

	selectNote     = selectNotes + `WHERE n.id = $1`
	selectOwnNotes = selectNotes + `WHERE n.member = $1 AND n.day >= $2 AND n.day <= $3` + noteStands + noteFits
	selectShared   = selectNotes + `WHERE n.coop = $1 AND n.shared = 1 AND n.day >= $2 AND n.day <= $3` + noteStands + noteFits
	selectAllNotes = selectNotes + `WHERE n.member = $1 ORDER BY n.id`

	insertNote = `
INSERT INTO note (coop, member, by_member, variety, batch, event, spot, folded, day, words, shared, at)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) RETURNING id`
	updateNote = `UPDATE note SET words = $2, shared = $3 WHERE id = $1`
	undoNote   = `UPDATE note SET undone_at = $2, undone_by = $3 WHERE id = $1`
)

func scanNote(row scanner) (n Note, err error) {
	err = row.Scan(&n.ID, &n.Coop, &n.Member, &n.Owner, (*ref)(&n.Variety), &n.Name, (*ref)(&n.Batch), &n.Mark, (*ref)(&n.Event), &n.Spot,
		(*day)(&n.On), &n.Words, &n.Shared, (*instant)(&n.At), (*instant)(&n.UndoneAt), &n.Photos)
	return n, err
}

func noteByID(ctx context.Context, tx *sql.Tx, id int64) (Note, error) {
	return one(noNote(), tx.QueryRowContext(ctx, selectNote, id), scanNote)
}

// noNote answers for what is not there and for what is not shared alike.
func noNote() *fault.Error {
	return fault.New(fault.Missing, "There is no such note of yours, and none of that number is shared. /note list shows those that are.")
}

// AddNote writes into the diary, with photos; a batch is the member's own. Without a day it is today's.
func (r *Register) AddNote(ctx context.Context, actor Actor, n Note, photos []photo.Photo) (added Note, err error) {
	return added, r.act(ctx, actor, func(a *act) error {
		if n.On.IsZero() {
			n.On = a.today
		}
		switch {
		case n.Words == "" && len(photos) == 0:
			return fault.New(fault.Unclear, "What is there to remember? Give it in words with note:, or as a photo.")
		case n.On > a.today:
			return fault.New(fault.Unclear, "%s is still to come. Write down what was seen.", n.On.Long())
		}
		if n.Batch != 0 {
			b, err := batchByID(ctx, a.Tx, n.Batch)
			if err != nil {
				return err
			}
			if err := a.mine(b.Member, "Batch "+b.Mark); err != nil {
				return err
			}
			n.Variety = b.Variety
		}
		id, err := scanID(a.QueryRowContext(ctx, insertNote, a.own.Coop, a.own.ID, a.by.ID, ref(n.Variety), ref(n.Batch), ref(n.Event), n.Spot,
			variety.Fold(n.Spot), day(n.On), n.Words, n.Shared, instant(a.at)))
		if err != nil {
			return fmt.Errorf("writing a note: %w", err)
		}
		if err := a.keepPhotos(ctx, id, 0, photos); err != nil {
			return err
		}
		added, err = noteByID(ctx, a.Tx, id)
		return err
	})
}

// ChangeNote gives a note of the member's other words, where they are not empty, shares it or no longer, and adds photos.
func (r *Register) ChangeNote(ctx context.Context, actor Actor, id int64, words string, shared bool, photos []photo.Photo) (n Note, err error) {
	return n, r.act(ctx, actor, func(a *act) error {
		old, err := a.note(ctx, id)
		if err != nil {
			return err
		}
		if words == "" {
			words = old.Words
		}
		if err := exec(ctx, a.Tx, updateNote, id, words, shared); err != nil {
			return fmt.Errorf("changing a note: %w", err)
		}
		if err := a.keepPhotos(ctx, id, 0, photos); err != nil {
			return err
		}
		n, err = noteByID(ctx, a.Tx, id)
		return err
	})
}

// UndoNote takes a note back: it is kept as undone and shown no more.
func (r *Register) UndoNote(ctx context.Context, actor Actor, id int64) error {
	return r.act(ctx, actor, func(a *act) error {
		if _, err := a.note(ctx, id); err != nil {
			return err
		}
		return exec(ctx, a.Tx, undoNote, id, instant(a.at), a.by.ID)
	})
}

// note gives a note of the member's own that stands.
func (a *act) note(ctx context.Context, id int64) (Note, error) {
	n, err := noteByID(ctx, a.Tx, id)
	switch {
	case err != nil:
		return n, err
	case n.Member != a.own.ID && (n.Coop != a.own.Coop || !n.Shared || !n.UndoneAt.IsZero()):
		return n, noNote()
	case n.Member != a.own.ID:
		return n, a.mine(n.Member, "That note")
	case !n.UndoneAt.IsZero():
		return n, fault.New(fault.Taken, "That note was taken back on %s. Write a new one with /note add.", calendar.DayAt(n.UndoneAt.In(a.at.Location())).Long())
	}
	return n, nil
}

// Diary says which notes are asked for; what is zero does not matter.
type Diary struct {
	From, To calendar.Day
	Variety  int64
	Batch    int64
	Spot     string
	Shared   bool // those that others of the co-op share too
}

// Notes gives a member's notes and, where asked for, those shared with them, the newest first.
func (r *Register) Notes(ctx context.Context, m Member, d Diary, limit int) (notes []Note, err error) {
	if d.To.IsZero() {
		d.To = calendar.DayOf(9999, 12, 31)
	}
	err = r.read(ctx, func(tx *sql.Tx) error {
		fits := []any{day(d.From), day(d.To), d.Variety, d.Batch, variety.Fold(d.Spot), limit}
		if notes, err = list(ctx, tx, scanNote, selectOwnNotes, append([]any{m.ID}, fits...)...); err != nil || !d.Shared {
			return err
		}
		shared, err := list(ctx, tx, scanNote, selectShared, append([]any{m.Coop}, fits...)...)
		for _, n := range shared {
			if n.Member != m.ID {
				notes = append(notes, n)
			}
		}
		return err
	})
	slices.SortFunc(notes, func(a, b Note) int { return cmp.Or(cmp.Compare(b.On, a.On), cmp.Compare(b.ID, a.ID)) })
	return notes[:min(len(notes), limit)], err
}

// NoteFor gives a note to a member who may see it.
func (r *Register) NoteFor(ctx context.Context, m Member, id int64) (n Note, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { n, err = noteByID(ctx, tx, id); return err })
	if err == nil && (n.Coop != m.Coop || n.Member != m.ID && !n.Shared || !n.UndoneAt.IsZero()) {
		err = noNote()
	}
	return n, err
}
