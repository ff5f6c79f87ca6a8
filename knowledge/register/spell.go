package register

import (
	"context"
	"database/sql"
	"slices"

	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/variety"
)

// spell is the time in which a part of a batch can be handed over, both days included.
type spell struct{ from, until calendar.Day }

// How long each form of stock is fit to be handed over, in days; common practice. Cut material keeps days, not weeks.
const (
	cutKeeps    = 5
	shootsLast  = 28 // from the first shoots on
	rootedWaits = 21 // before it should stand in a pot
	pottedWaits = 35 // in the small pot, 4–5 weeks
	plantWaits  = 56
)

// stockOf gives the form in which a batch is offered where its member names none.
func stockOf(stage crop.Stage) exchange.Stock {
	switch stage {
	case crop.Boxed, crop.Woken:
		return exchange.Stools
	case crop.Taken:
		return exchange.Unrooted
	case crop.Struck:
		return exchange.Rooted
	}
	return exchange.Plants
}

// Gives reports whether a batch at a stage can give a form of stock.
func Gives(stage crop.Stage, stock exchange.Stock) bool {
	switch stock {
	case exchange.Stools:
		return stage == crop.Boxed || stage == crop.Woken
	case exchange.Unrooted:
		return stage != crop.Struck
	case exchange.Rooted:
		return stage == crop.Struck || stage == crop.Potted
	}
	return slices.Contains([]crop.Stage{crop.Potted, crop.Planted, crop.Housed}, stage)
}

// shoots reports whether what is given are shoots of plants that stay: they are not part of the batch's number.
func shoots(stage crop.Stage, stock exchange.Stock) bool {
	return stock == exchange.Unrooted && stage != crop.Taken
}

// capacity is how many a batch can give in all, of its shoots or of its number.
func capacity(b Batch, v variety.Variety, shoots bool) int {
	if !shoots {
		return b.Count
	}
	each, _ := v.ShootsOrDefault()
	return int(float64(b.Count) * each)
}

// offerable refuses what a batch cannot or may not give.
func offerable(b Batch, v Variety, of Offering, today calendar.Day) error {
	switch most := capacity(b, v.Variety, shoots(b.Stage, of.Stock)); {
	case !Gives(b.Stage, of.Stock):
		return fault.New(fault.Unclear, "Batch %s is %s and gives no %s. Offer %s of it, or name another batch.", b.Mark, b.Stage, of.Stock, stockOf(b.Stage))
	case of.Number < 1:
		return fault.New(fault.Unclear, "How many %s of batch %s do you offer? Give a number of 1 or more.", of.Stock, b.Mark)
	case of.Number > most && shoots(b.Stage, of.Stock):
		return fault.New(fault.Unclear, "The %d plants of batch %s give about %d cuttings, not %d. Offer %d or fewer.", b.Count, b.Mark, most, of.Number, most)
	case of.Number > most:
		return tooMany(b, of.Number)
	}
	cuttings := of.Stock == exchange.Unrooted || of.Stock == exchange.Rooted
	if cuttings && v.Protection == variety.Protected && (v.Until.IsZero() || v.Until >= today) {
		return fault.New(fault.Barred, "%s is protected by breeders' rights and no licence is recorded, so its cuttings cannot be offered: propagating it for exchange needs the holder's licence. If you have one, put it on record with licence: in /variety add; what it allows decides.", v.Name)
	}
	return nil
}

const nextWake = `SELECT COALESCE(min(due), '') FROM job WHERE member = $1 AND variety = $2 AND kind = 'wake' AND state = 'open'`

// spellOf reckons when a batch can give a form of stock: shoots from waking, roots from striking. From is zero where no
// waking is planned.
func spellOf(ctx context.Context, tx *sql.Tx, b Batch, stock exchange.Stock, today calendar.Day) (s spell, err error) {
	seat, err := seatOf(ctx, tx, b.Member)
	if err != nil {
		return s, err
	}
	at := seat.Place()
	switch {
	case stock == exchange.Unrooted && b.Stage == crop.Taken:
		return spell{b.Since, b.Since.Add(cutKeeps)}, nil
	case stock == exchange.Unrooted && b.Stage == crop.Boxed:
		var wake calendar.Day
		if err := tx.QueryRowContext(ctx, nextWake, b.Member, b.Variety).Scan((*day)(&wake)); err != nil || wake.IsZero() {
			return spell{0, today.Add(shootsLast)}, err
		}
		return lasting(crop.CutAfter(calendar.On(max(wake, today)), at).Window.Likely, today, shootsLast), nil
	case stock == exchange.Unrooted && b.Stage == crop.Woken:
		return lasting(crop.CutAfter(calendar.On(b.Since), at).Window.Likely, today, shootsLast), nil
	case stock == exchange.Unrooted:
		return lasting(today, today, shootsLast), nil
	case stock == exchange.Rooted && b.Stage == crop.Struck:
		return lasting(crop.RootAfter(calendar.On(b.Since), at).Window.Likely, today, rootedWaits), nil
	case stock == exchange.Rooted:
		return spell{b.Since, max(b.Since.Add(pottedWaits), today.Add(7))}, nil
	}
	return lasting(today, today, plantWaits), nil
}

func lasting(from, today calendar.Day, days int) spell {
	return spell{from, max(from, today).Add(days)}
}
