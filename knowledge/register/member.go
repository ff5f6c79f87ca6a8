package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"

	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// Member is one grower of a co-op.
type Member struct {
	ID         int64
	Coop       int64
	Key        string `json:"-"` // how the chat platform names the person
	Name       string
	Steward    bool
	Units      Units       // CoopUnits: the co-op's
	KeepStools int         // stools of each variety kept back, never counted as spare
	Place      place.Place // not known: the co-op's
	Country    string      // whose rules for plants apply; "": the co-op's
	Joined     time.Time
}

const memberColumns = `id, coop, key, name, steward, units, keep_stools, country, joined, ` + placeColumns

func memberDest(m *Member) []any {
	return append([]any{&m.ID, &m.Coop, &m.Key, &m.Name, &m.Steward, &m.Units, &m.KeepStools, &m.Country, (*instant)(&m.Joined)}, placeDest(&m.Place)...)
}

func scanMember(row scanner) (m Member, err error) {
	err = row.Scan(memberDest(&m)...)
	return m, err
}

// Entry is who asks, as the chat platform knows them.
type Entry struct {
	CoopKey, CoopName string
	Key, Name         string
	Steward           bool // the platform says that they run the co-op's server
	Governed          bool // and it alone says who is a steward: neither being first nor being named makes one
	At                time.Time
}

const (
	selectSeats   = `SELECT m.*, c.* FROM (SELECT ` + memberColumns + ` FROM member) m JOIN (SELECT ` + coopColumns + ` FROM coop) c ON c.id = m.coop `
	selectSeat    = selectSeats + `WHERE m.id = $1`
	selectSeatKey = selectSeats + `WHERE c.key = $1 AND m.key = $2`
	selectCoopKey = `SELECT ` + coopColumns + ` FROM coop WHERE key = $1`
	selectMember  = `SELECT ` + memberColumns + ` FROM member WHERE id = $1`
	insertCoop    = `INSERT INTO coop (key, name) VALUES ($1, $2) ON CONFLICT (key) DO UPDATE SET name = excluded.name RETURNING id`
	insertMember  = `
INSERT INTO member (coop, key, name, folded, steward, joined)
VALUES ($1, $2, $3, $4, CASE WHEN $7 OR EXISTS (SELECT 1 FROM member WHERE coop = $1) THEN $5 ELSE 1 END, $6)
ON CONFLICT (coop, key) DO UPDATE SET name = excluded.name, folded = excluded.folded,
       steward = CASE WHEN $5 OR $7 THEN $5 ELSE member.steward END
RETURNING id`
)

// Find gives the seat of who asks; the zero Seat if they are not in the register, but with the co-op where that is.
// Nothing is stored.
func (r *Register) Find(ctx context.Context, coopKey, key string) (seat Seat, err error) {
	v, keys := r.viewOf(ctx), [2]string{coopKey, key}
	if v != nil {
		if seat, found := v.seats[keys]; found {
			return seat, nil
		}
	}
	err = r.read(ctx, func(tx *sql.Tx) error { seat, err = seatByKey(ctx, tx, coopKey, key); return err })
	if v != nil && v.tx != nil && err == nil {
		v.seats[keys] = seat
	}
	return seat, err
}

func seatByKey(ctx context.Context, tx *sql.Tx, coopKey, key string) (Seat, error) {
	seat, err := scanSeat(tx.QueryRowContext(ctx, selectSeatKey, coopKey, key))
	if !errors.Is(err, sql.ErrNoRows) {
		return seat, err
	}
	seat.Coop, err = scanCoop(tx.QueryRowContext(ctx, selectCoopKey, coopKey))
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return seat, err
}

func scanSeat(row scanner) (s Seat, err error) {
	err = row.Scan(append(memberDest(&s.Member), coopDest(&s.Coop)...)...)
	return s, err
}

// Enter gives the seat of who asks, making co-op and member where they are new. The first member of a co-op is its
// steward, unless the platform governs. A name, and a steward's right, that changed on the platform changes here.
func (r *Register) Enter(ctx context.Context, e Entry) (Seat, error) {
	name, coopName, err := e.names()
	if err != nil {
		return Seat{}, err
	}
	seat, err := r.Find(ctx, e.CoopKey, e.Key)
	if err != nil || !seat.Zero() && seat.Member.Name == name && seat.Member.Steward == e.steward(seat.Member) {
		return seat, err
	}
	err = r.write(ctx, e.At, func(tx *sql.Tx) error {
		coop := seat.Coop.ID // a co-op that exists keeps the name its steward gave it
		if coop == 0 {
			if coop, err = scanID(tx.QueryRowContext(ctx, insertCoop, e.CoopKey, coopName)); err != nil {
				return fmt.Errorf("beginning a co-op: %w", err)
			}
			if err := restrike(ctx, tx, e.At, coop, 0, StrokeNotice); err != nil {
				return err
			}
		}
		id, err := scanID(tx.QueryRowContext(ctx, insertMember, coop, e.Key, name, variety.Fold(name), e.Steward, e.At.Unix(), e.Governed))
		if err != nil {
			return fmt.Errorf("entering a member: %w", err)
		}
		seat, err = seatOf(ctx, tx, id)
		return err
	})
	return seat, err
}

// names gives the names to be kept. Those of a platform that governs nobody typed here, so nobody is refused for them:
// they are made to fit.
func (e Entry) names() (name, coop string, err error) {
	if e.Governed {
		return variety.FitName(e.Name, "member "+e.Key[max(0, len(e.Key)-4):]), variety.FitName(e.CoopName, "our co-op"), nil
	}
	if name, err = variety.CleanName(e.Name); err == nil {
		coop, err = variety.CleanName(e.CoopName)
	}
	return name, coop, err
}

// steward tells whether a member that there is already is a steward now.
func (e Entry) steward(m Member) bool { return e.Steward || m.Steward && !e.Governed }

func memberByID(ctx context.Context, tx *sql.Tx, id int64) (Member, error) {
	return one(noMember(), tx.QueryRowContext(ctx, selectMember, id), scanMember)
}

func seatOf(ctx context.Context, tx *sql.Tx, member int64) (Seat, error) {
	return one(noMember(), tx.QueryRowContext(ctx, selectSeat, member), scanSeat)
}

func noMember() *fault.Error {
	return fault.New(fault.Missing, "That member is not in the register, or has left. /coop show names the members.")
}

// Seat gives a member with their co-op.
func (r *Register) Seat(ctx context.Context, member int64) (seat Seat, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { seat, err = seatOf(ctx, tx, member); return err })
	return seat, err
}

const selectMembers = `SELECT ` + memberColumns + ` FROM member WHERE coop = $1 ORDER BY id`

// Members gives a co-op's members, the longest-standing first.
func (r *Register) Members(ctx context.Context, coop int64) (all []Member, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanMember, selectMembers, coop); return err })
	return all, err
}

const (
	selectKeyed = `SELECT ` + memberColumns + ` FROM member WHERE coop = $1 AND key = $2`
	selectNamed = `SELECT ` + memberColumns + ` FROM member WHERE coop = $1 AND folded = $2 ORDER BY id`
)

// MemberNamed gives the member of that name, compared without case or accents, or whom a platform's list of
// people gave.
func (r *Register) MemberNamed(ctx context.Context, coop int64, name string) (m Member, err error) {
	var named, all []Member
	err = r.read(ctx, func(tx *sql.Tx) error {
		if platformID.MatchString(name) {
			if named, err = list(ctx, tx, scanMember, selectKeyed, coop, name); err != nil || len(named) == 1 {
				return err
			}
		}
		if named, err = list(ctx, tx, scanMember, selectNamed, coop, variety.Fold(name)); err != nil || len(named) == 1 {
			return err
		}
		all, err = list(ctx, tx, scanMember, selectMembers, coop)
		return err
	})
	switch {
	case err != nil:
		return Member{}, err
	case len(named) == 1:
		return named[0], nil
	case len(named) > 1:
		return Member{}, fault.New(fault.Unclear, "The co-op has %d members called %s. One of them should change the name first.", len(named), named[0].Name)
	}
	if platformID.MatchString(name) {
		return Member{}, fault.New(fault.Missing, "Whoever you chose is no member of the co-op yet. They become one by their first /grower place or /stock add.")
	}
	names := make([]string, len(all))
	for i, m := range all {
		names[i] = m.Name
	}
	return Member{}, fault.New(fault.Missing, "The co-op has no member %q. %s", name, nearest(name, names, "/coop show names them."))
}

// platformID is a key such as a platform's own list of people gives for one of them.
var platformID = regexp.MustCompile(`^\d{15,20}$`)

// nearest offers the names a mistyped one may stand for.
func nearest(name string, among []string, otherwise string) string {
	if near := variety.Near(name, among, 3); len(near) > 0 {
		return "Did you mean " + strings.Join(near, " or ") + "?"
	}
	return otherwise
}

const setGoverned = `UPDATE member SET steward = $2 WHERE id = $1 AND steward <> $2`

// Govern keeps what the platform says of a member: whether they are a steward.
func (r *Register) Govern(ctx context.Context, member int64, steward bool, at time.Time) error {
	return r.write(ctx, at, func(tx *sql.Tx) error {
		if err := exec(ctx, tx, setGoverned, member, steward); err != nil {
			return fmt.Errorf("keeping who is a steward: %w", err)
		}
		return nil
	})
}

const updateMember = `
UPDATE member SET units = $2, keep_stools = $3,
       lat = $4, lon = $5, zone = $6, exact = $7, last_frost = $8, first_frost = $9,
       cover = $10, bottom_heat = $11, winter_heat = $12, black_out = $13, lights = $14
WHERE id = $1`

// SetMember keeps the actor's units, stools kept back and place, and moves their open jobs to it.
func (r *Register) SetMember(ctx context.Context, actor Actor, units Units, keepStools int, at place.Place) (moved []Move, err error) {
	if keepStools < 0 {
		return nil, fault.New(fault.Unclear, "The stools kept back cannot be fewer than none. Give 0 or more.")
	}
	return moved, r.act(ctx, actor, func(a *act) error {
		if err := exec(ctx, a.Tx, updateMember, append([]any{a.own.ID, units, keepStools}, placeArgs(at)...)...); err != nil {
			return fmt.Errorf("keeping a place: %w", err)
		}
		if at.Zone != a.own.Place.Zone {
			if err := restrikeMember(ctx, a.Tx, a.at, a.own.ID); err != nil {
				return err
			}
		}
		moved, err = reckonWhere(ctx, a.Tx, a.today, selectMemberPlans, a.own.ID)
		return err
	})
}

const setCountry = `UPDATE member SET country = $2 WHERE id = $1`

// SetCountry keeps the country in which the member grows; "" is the co-op's.
func (r *Register) SetCountry(ctx context.Context, actor Actor, country string) error {
	return r.act(ctx, actor, func(a *act) error { return exec(ctx, a.Tx, setCountry, a.own.ID, country) })
}

const (
	setSteward    = `UPDATE member SET steward = $2 WHERE id = $1`
	otherStewards = `SELECT count(*) FROM member WHERE coop = $1 AND steward = 1 AND id <> $2`
	promoteEldest = `UPDATE member SET steward = 1 WHERE id = (SELECT id FROM member WHERE coop = $1 ORDER BY joined, id LIMIT 1)`
)

// NameSteward makes a member of the actor's co-op a steward, or no longer one. The last steward stays.
func (r *Register) NameSteward(ctx context.Context, actor Actor, member int64, steward bool) error {
	return r.act(ctx, actor, func(a *act) error {
		if err := a.steward("name stewards"); err != nil {
			return err
		}
		other, err := memberByID(ctx, a.Tx, member)
		if err != nil {
			return err
		}
		if other.Coop != a.by.Coop {
			return fault.New(fault.Missing, "The co-op has no such member. /coop show names them.")
		}
		if !steward {
			left, err := scanID(a.QueryRowContext(ctx, otherStewards, other.Coop, other.ID))
			if err != nil {
				return err
			}
			if left == 0 {
				return fault.New(fault.Taken, "%s is the co-op's only steward. Name another one first.", other.Name)
			}
		}
		return exec(ctx, a.Tx, setSteward, other.ID, steward)
	})
}
