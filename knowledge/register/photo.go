package register

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"shortday/knowledge/fault"
	"shortday/knowledge/photo"
)

// Photo is one that is kept, of a note or of a health report. The pixels stand in the register itself, so that a deed
// with a photo is one transaction and a backup has them.
type Photo struct {
	ID     int64
	Note   int64
	Report int64
	photo.Photo
	At time.Time
}

// MostPhotos is how many photos are kept of a member: about 400 MB.
const MostPhotos = 1000

const (
	insertPhoto = `INSERT INTO photo (coop, member, note, report, width, height, small, data, at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`
	countPhotos = `SELECT count(*) FROM photo WHERE member = $1`

	selectPhotos       = `SELECT id, note, report, width, height, small, data, at FROM photo `
	selectNotePhotos   = selectPhotos + `WHERE note = $1 ORDER BY id`
	selectReportPhotos = selectPhotos + `WHERE report = $1 ORDER BY id`
	selectOnePhoto     = selectPhotos + `WHERE id = $1`
	selectPhotoIDs     = `SELECT id FROM photo WHERE member = $1 ORDER BY id`
)

func scanPhoto(row scanner) (p Photo, err error) {
	err = row.Scan(&p.ID, (*ref)(&p.Note), (*ref)(&p.Report), &p.Width, &p.Height, &p.Small, &p.Data, (*instant)(&p.At))
	return p, err
}

// keepPhotos keeps photos of the deed's member with a note or a report; the other is 0.
func (a *act) keepPhotos(ctx context.Context, note, report int64, photos []photo.Photo) error {
	if len(photos) == 0 {
		return nil
	}
	n, err := scanID(a.QueryRowContext(ctx, countPhotos, a.own.ID))
	if err != nil {
		return err
	}
	if int(n)+len(photos) > MostPhotos {
		return fault.New(fault.Taken, "%d photos of yours are kept already, and no more are. Words alone can be written down.", n)
	}
	for _, p := range photos {
		err := exec(ctx, a.Tx, insertPhoto, a.own.Coop, a.own.ID, ref(note), ref(report), p.Width, p.Height, p.Small, p.Data, instant(a.at))
		if err != nil {
			return fmt.Errorf("keeping a photo: %w", err)
		}
	}
	return nil
}

// NotePhotos gives the photos of a note, in the order in which they were added. Who may see them NoteFor tells.
func (r *Register) NotePhotos(ctx context.Context, note int64) (photos []Photo, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		photos, err = list(ctx, tx, scanPhoto, selectNotePhotos, note)
		return err
	})
	return photos, err
}

// ReportPhotos gives the photos of a health report, in the order in which they were sent.
func (r *Register) ReportPhotos(ctx context.Context, report int64) (photos []Photo, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		photos, err = list(ctx, tx, scanPhoto, selectReportPhotos, report)
		return err
	})
	return photos, err
}

// EachPhoto hands over all photos of a member, one at a time.
func (r *Register) EachPhoto(ctx context.Context, member int64, take func(Photo) error) error {
	return r.read(ctx, func(tx *sql.Tx) error {
		ids, err := list(ctx, tx, scanID, selectPhotoIDs, member)
		if err != nil {
			return err
		}
		for _, id := range ids {
			p, err := scanPhoto(tx.QueryRowContext(ctx, selectOnePhoto, id))
			if err != nil {
				return err
			}
			if err := take(p); err != nil {
				return err
			}
		}
		return nil
	})
}
