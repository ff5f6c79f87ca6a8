package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/fault"
	"shortday/knowledge/place"
	"shortday/knowledge/variety"
)

// Coop is a growers' co-op: one Discord server, or one name in a terminal.
type Coop struct {
	ID         int64
	Key        string `json:"-"` // how the chat platform names it
	Name       string
	Units      Units
	MonthFirst bool // 5/11 is 11 May
	StopWord   StopWord
	Country    string
	Sharing    Sharing
	Credit     int         // in balance: how far received − given may go
	Place      place.Place // stands in for a member's place, and its zone is the co-op's
}

// Sharing is the co-op's rule of swaps. Its text is stored.
type Sharing string

// The rules.
const (
	Freely    Sharing = ""
	InBalance Sharing = "balance" // within the credit
)

// Units are the units that replies use.
type Units string

// The units. A member without units of their own has the co-op's.
const (
	CoopUnits Units = ""
	Metric    Units = "metric"
	US        Units = "us"
)

// StopWord is the word that replies use for taking out the tip.
type StopWord string

// The two words.
const (
	SayStop  StopWord = "stop"
	SayPinch StopWord = "pinch"
)

const (
	placeColumns = `lat, lon, zone, exact, last_frost, first_frost, cover, bottom_heat, winter_heat, black_out, lights`
	coopColumns  = `id, key, name, units, month_first, stop_word, country, sharing, credit, ` + placeColumns
)

func placeDest(p *place.Place) []any {
	return []any{&p.Lat, &p.Lon, &p.Zone, &p.Exact, (*annual)(&p.LastFrost), (*annual)(&p.FirstFrost),
		&p.Cover, &p.BottomHeat, &p.WinterHeat, &p.BlackOut, &p.Lights}
}

func placeArgs(p place.Place) []any {
	return []any{p.Lat, p.Lon, p.Zone, p.Exact, annual(p.LastFrost), annual(p.FirstFrost),
		p.Cover, p.BottomHeat, p.WinterHeat, p.BlackOut, p.Lights}
}

func coopDest(c *Coop) []any {
	return append([]any{&c.ID, &c.Key, &c.Name, &c.Units, &c.MonthFirst, &c.StopWord, &c.Country, &c.Sharing, &c.Credit}, placeDest(&c.Place)...)
}

func scanCoop(row scanner) (c Coop, err error) {
	err = row.Scan(coopDest(&c)...)
	return c, err
}

const selectCoop = `SELECT ` + coopColumns + ` FROM coop WHERE id = $1`

func coopByID(ctx context.Context, tx *sql.Tx, id int64) (Coop, error) {
	return one(fault.New(fault.Missing, "That co-op is not in the register. Any request that records something begins it."),
		tx.QueryRowContext(ctx, selectCoop, id), scanCoop)
}

// Coop gives a co-op.
func (r *Register) Coop(ctx context.Context, id int64) (c Coop, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { c, err = coopByID(ctx, tx, id); return err })
	return c, err
}

const selectCoops = `SELECT ` + coopColumns + ` FROM coop ORDER BY id`

// Coops gives every co-op of the register.
func (r *Register) Coops(ctx context.Context) (all []Coop, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { all, err = list(ctx, tx, scanCoop, selectCoops); return err })
	return all, err
}

const updateCoop = `
UPDATE coop SET name = $2, units = $3, month_first = $4, stop_word = $5, country = $6,
       lat = $7, lon = $8, zone = $9, exact = $10, last_frost = $11, first_frost = $12,
       cover = $13, bottom_heat = $14, winter_heat = $15, black_out = $16, lights = $17, sharing = $18, credit = $19
WHERE id = $1`

// Setup keeps what a steward says of the co-op: everything but ID and Key. It moves the open jobs of the members who
// grow at the co-op's place.
func (r *Register) Setup(ctx context.Context, actor Actor, c Coop) (moved []Move, err error) {
	name, err := variety.CleanName(c.Name)
	if err != nil {
		return nil, err
	}
	return moved, r.act(ctx, actor, func(a *act) error {
		if err := a.steward("set the co-op up"); err != nil {
			return err
		}
		if c.ID != a.by.Coop {
			return fault.New(fault.Barred, "You are steward of another co-op. Ask a steward of this one.")
		}
		old, err := coopByID(ctx, a.Tx, c.ID)
		if err != nil {
			return err
		}
		if c.Place.Zone != old.Place.Zone {
			if err := a.restrikeAll(ctx, c.ID); err != nil {
				return err
			}
		}
		args := append([]any{c.ID, name, c.Units, c.MonthFirst, c.StopWord, c.Country}, placeArgs(c.Place)...)
		if err := exec(ctx, a.Tx, updateCoop, append(args, c.Sharing, c.Credit)...); err != nil {
			return fmt.Errorf("setting the co-op up: %w", err)
		}
		moved, err = reckonWhere(ctx, a.Tx, a.today, selectCoopPlans, c.ID)
		return err
	})
}

const (
	selectSettings = `SELECT name, value FROM setting WHERE coop = $1`
	upsertSetting  = `
INSERT INTO setting (coop, name, value) VALUES ($1, $2, $3)
ON CONFLICT (coop, name) DO UPDATE SET value = excluded.value`
)

// StopShift is the setting that crop reads: days of bloom for a day of stopping.
const StopShift = "stop-shift"

// Set keeps one number that a co-op changed from its default, such as StopShift or a share lost at a step.
func (r *Register) Set(ctx context.Context, actor Actor, name string, value float64) (moved []Move, err error) {
	return moved, r.act(ctx, actor, func(a *act) error {
		if err := a.steward("change the co-op's numbers"); err != nil {
			return err
		}
		if err := exec(ctx, a.Tx, upsertSetting, a.by.Coop, name, value); err != nil {
			return fmt.Errorf("keeping a setting: %w", err)
		}
		moved, err = reckonWhere(ctx, a.Tx, a.today, selectCoopPlans, a.by.Coop)
		return err
	})
}

// Settings gives the numbers that the co-op changed from their defaults, by name.
func (r *Register) Settings(ctx context.Context, coop int64) (values map[string]float64, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error { values, err = settings(ctx, tx, coop); return err })
	return values, err
}

func settings(ctx context.Context, tx *sql.Tx, coop int64) (map[string]float64, error) {
	values := map[string]float64{}
	_, err := list(ctx, tx, func(row scanner) (name string, err error) {
		var value float64
		err = row.Scan(&name, &value)
		values[name] = value
		return name, err
	}, selectSettings, coop)
	return values, err
}

// Seat is a member in their co-op.
type Seat struct {
	Coop   Coop
	Member Member
}

// Place gives where the member grows, with what they have there. Where they told no position the co-op's stands in, and
// its frost days with it; where they told no zone, the co-op's.
func (s Seat) Place() place.Place {
	p, co := s.Member.Place, s.Coop.Place
	if !p.Known() {
		p.Point, p.Exact = co.Point, co.Exact
		if p.LastFrost.IsZero() {
			p.LastFrost = co.LastFrost
		}
		if p.FirstFrost.IsZero() {
			p.FirstFrost = co.FirstFrost
		}
	}
	if p.Zone == "" {
		p.Zone = co.Zone
	}
	return p
}

// Units gives the units that the member reads: their own, else the co-op's.
func (s Seat) Units() Units {
	if s.Member.Units != CoopUnits {
		return s.Member.Units
	}
	return s.Coop.Units
}

// Country gives the country whose rules for plants apply where the member grows.
func (s Seat) Country() string {
	if s.Member.Country != "" {
		return s.Member.Country
	}
	return s.Coop.Country
}

// Zero reports whether there is no such seat yet.
func (s Seat) Zero() bool { return s.Member.ID == 0 }
