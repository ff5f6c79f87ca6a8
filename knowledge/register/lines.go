package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/health"
	"shortday/knowledge/variety"
)

// lines is what a trace looks batches up in. Lineage and handovers of the days that count are read at once; who stood
// beside whom is read a member at a time, once the trace comes to that member.
type lines struct {
	ctx        context.Context
	tx         *sql.Tx
	coop       int64
	since, end calendar.Day
	beside     bool
	kin        map[int64][]health.Tie // by batch; nil until it is read
	stood      map[int64]*stood       // by member
	undone     map[int64]bool         // batches whose making was taken back
	owner      map[int64]int64        // of the batches that have been come upon
}

func newLines(ctx context.Context, tx *sql.Tx, rep Report, forward int, beside bool) *lines {
	return &lines{ctx: ctx, tx: tx, coop: rep.Coop, since: rep.Since, end: rep.Seen.Add(forward), beside: beside,
		stood: map[int64]*stood{}, undone: map[int64]bool{}, owner: map[int64]int64{}}
}

const (
	selectKin       = `SELECT id, parent, made FROM batch WHERE coop = $1 AND parent IS NOT NULL AND made >= $2 AND made <= $3`
	selectTakenBack = `SELECT t.batch FROM event e JOIN touch t ON t.event = e.id AND t.made = 1 WHERE e.coop = $1 AND e.undone_at <> 0`
	selectOwner     = `SELECT COALESCE(member, 0) FROM batch WHERE id = $1`
)

// look gives health.Trace what is on record of a batch. A handover is a tie of lineage like any other: whose the two
// batches are tells them apart where a path is shown.
func (l *lines) look(batch int64) (health.Record, error) {
	if l.kin == nil {
		if err := l.readKin(); err != nil {
			return health.Record{}, fmt.Errorf("tracing lineage: %w", err)
		}
	}
	rec := health.Record{Ties: l.kin[batch]}
	if !l.beside {
		return rec, nil
	}
	owner, known := l.owner[batch]
	if !known {
		var err error
		if owner, err = scanID(l.tx.QueryRowContext(l.ctx, selectOwner, batch)); err != nil {
			return rec, err
		}
		l.owner[batch] = owner
	}
	if rec.Owner = owner; owner == 0 {
		return rec, nil
	}
	s, ok := l.stood[owner]
	if !ok {
		var err error
		if s, err = stoodOf(l.ctx, l.tx, owner, l.since, l.end, l.undone); err != nil {
			return rec, fmt.Errorf("tracing where plants stood: %w", err)
		}
		l.stood[owner] = s
		for _, own := range s.all {
			l.owner[own] = owner
		}
	}
	rec.Ties = append(rec.Ties[:len(rec.Ties):len(rec.Ties)], s.ties(batch)...)
	return rec, nil
}

func (l *lines) readKin() error {
	back, err := list(l.ctx, l.tx, scanID, selectTakenBack, l.coop)
	if err != nil {
		return err
	}
	for _, id := range back {
		l.undone[id] = true
	}
	l.kin = map[int64][]health.Tie{}
	_, err = list(l.ctx, l.tx, func(row scanner) (none struct{}, err error) {
		t := health.Tie{Manner: health.Raised}
		if err := row.Scan(&t.To, &t.From, (*day)(&t.First)); err != nil || l.undone[t.To] {
			return none, err
		}
		t.Last = t.First
		l.kin[t.From], l.kin[t.To] = append(l.kin[t.From], t), append(l.kin[t.To], t)
		return none, nil
	}, selectKin, l.coop, day(l.since), day(l.end))
	return err
}

// stay is a time for which a batch stood in one place.
type stay struct {
	batch       int64
	spot        string // folded
	first, last calendar.Day
}

// stood is where the batches of one member stood, in the days that count.
type stood struct {
	all []int64 // the batches
	of  map[int64][]stay
	at  map[string][]stay
}

const (
	ofDays      = `b.member = $1 AND b.made <= $3 AND (b.ended = '' OR b.ended >= $2)`
	selectStood = `SELECT b.id, b.spot, b.made, b.ended FROM batch b WHERE ` + ofDays + ` ORDER BY b.id`
	selectSpots = `SELECT t.batch, t.spot, e.day FROM batch b JOIN touch t ON t.batch = b.id JOIN event e ON e.id = t.event WHERE ` + ofDays + ` AND t.deed <> '' AND e.undone_at = 0 ORDER BY t.batch, t.event`
)

// stoodOf reads where a member's batches stood; those whose making was taken back never did.
func stoodOf(ctx context.Context, tx *sql.Tx, member int64, since, end calendar.Day, undone map[int64]bool) (*stood, error) {
	changes := map[int64][]stay{}
	_, err := list(ctx, tx, func(row scanner) (s stay, err error) {
		err = row.Scan(&s.batch, &s.spot, (*day)(&s.last))
		changes[s.batch] = append(changes[s.batch], s)
		return s, err
	}, selectSpots, member, day(since), day(end))
	if err != nil {
		return nil, err
	}
	folds := map[string]string{} // few places hold many batches
	folded := func(spot string) string {
		if _, ok := folds[spot]; !ok {
			folds[spot] = variety.Fold(spot)
		}
		return folds[spot]
	}
	s := &stood{of: map[int64][]stay{}, at: map[string][]stay{}}
	_, err = list(ctx, tx, func(row scanner) (now stay, err error) {
		if err := row.Scan(&now.batch, &now.spot, (*day)(&now.first), (*day)(&now.last)); err != nil || undone[now.batch] {
			return now, err
		}
		s.all = append(s.all, now.batch)
		if now.last.IsZero() {
			now.last = end
		}
		for _, one := range stays(now, changes[now.batch]) {
			if one.spot = folded(one.spot); one.spot != "" && one.last >= since {
				s.of[one.batch], s.at[one.spot] = append(s.of[one.batch], one), append(s.at[one.spot], one)
			}
		}
		return now, nil
	}, selectStood, member, day(since), day(end))
	return s, err
}

// stays follows a batch from place to place: now is its last place with all its time, and each change has the place
// before it and its day as last.
func stays(now stay, changes []stay) (all []stay) {
	for i, c := range changes {
		after := now.spot
		if i+1 < len(changes) {
			after = changes[i+1].spot
		}
		if after != c.spot {
			c.first, c.last = now.first, max(now.first, c.last)
			all, now.first = append(all, c), c.last
		}
	}
	return append(all, now)
}

// ties gives with whom a batch stood, and when.
func (s *stood) ties(batch int64) (ties []health.Tie) {
	for _, own := range s.of[batch] {
		for _, other := range s.at[own.spot] {
			first, last := max(own.first, other.first), min(own.last, other.last)
			if other.batch != batch && first <= last {
				ties = append(ties, health.Tie{Manner: health.Beside, From: batch, To: other.batch, First: first, Last: last})
			}
		}
	}
	return ties
}
