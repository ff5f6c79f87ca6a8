package register

import (
	"context"
	"database/sql"
	"fmt"

	"shortday/knowledge/calendar"
	"shortday/knowledge/exchange"
)

// Match is the best set of handovers of a co-op today, with the offers and wants that it is of.
type Match struct {
	exchange.Result
	Offers    map[int64]Offer
	Wants     map[int64]Want
	Waiting   int // open proposals, whose numbers are held back
	Varieties map[int64]Variety
}

const (
	openOffers   = selectOffers + `WHERE o.coop = $2 AND o.ended = '' AND o.free > 0 AND o.until >= $1 AND ` + here + `o.member) AND NOT ` + heldNow + ` ORDER BY o.id`
	countWaiting = `SELECT count(*) FROM proposal WHERE coop = $1 AND state = 'open'`
	openWants    = selectWants + `WHERE w.coop = $1 AND w.ended = '' AND w.free > 0 AND w.last >= $2 AND ` + here + `w.member) ORDER BY w.id`
	coopNo       = `
SELECT d.offer, d.want FROM declined d JOIN offer o ON o.id = d.offer WHERE o.coop = $1 AND o.ended = '' AND (d.until = '' OR d.until >= $2)`
	coopTallies = `
SELECT giver, 1, ` + takenNumber + ` FROM swap WHERE coop = $1 AND state IN ('agreed', 'given', 'received') AND giver IS NOT NULL GROUP BY giver
UNION ALL
SELECT receiver, 0, ` + takenNumber + ` FROM swap WHERE coop = $1 AND state IN ('agreed', 'given', 'received') AND receiver IS NOT NULL GROUP BY receiver`
	openParts = selectSwaps + `WHERE s.coop = $1 AND s.state = 'proposed' ORDER BY s.proposal, s.id`
)

// Match finds the best set of handovers for a co-op today. Nothing is stored.
func (r *Register) Match(ctx context.Context, coop int64, today calendar.Day) (m Match, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		market, err := m.market(ctx, tx, coop, today)
		if err == nil {
			m.Result = exchange.Match(market)
		}
		return err
	})
	return m, err
}

// market collects what is open and not held back.
func (m *Match) market(ctx context.Context, tx *sql.Tx, coop int64, today calendar.Day) (market exchange.Market, err error) {
	c, err := coopByID(ctx, tx, coop)
	if err != nil {
		return market, err
	}
	market = exchange.Market{Today: today, Sharing: exchange.Sharing{Balanced: c.Sharing == InBalance, Credit: c.Credit}}
	if market.Offers, market.Batches, err = m.offered(ctx, tx, coop, today); err != nil {
		return market, err
	}
	if market.Wants, err = m.wanted(ctx, tx, coop, today); err != nil {
		return market, err
	}
	if err := tx.QueryRowContext(ctx, countWaiting, coop).Scan(&m.Waiting); err != nil {
		return market, err
	}
	market.Refused, err = list(ctx, tx, func(row scanner) (p exchange.Pair, err error) {
		err = row.Scan(&p.Offer, &p.Want)
		return p, err
	}, coopNo, coop, day(today))
	if err != nil {
		return market, err
	}
	market.Ledgers, err = pending(ctx, tx, coop)
	return market, err
}

// offered gives the offers, and what batches can still give that are offered from twice or more. A batch's shoots and its
// number are two different things to give from.
func (m *Match) offered(ctx context.Context, tx *sql.Tx, coop int64, today calendar.Day) (all []exchange.Offer, pools map[int64]int, err error) {
	offers, err := list(ctx, tx, scanOffer, openOffers, day(today), coop)
	if err != nil {
		return nil, nil, err
	}
	m.Offers = make(map[int64]Offer, len(offers))
	shared := map[int64]int{}
	for _, o := range offers {
		m.Offers[o.ID] = o
		shared[o.Batch]++
	}
	pools = map[int64]int{}
	a := &act{Tx: tx}
	for _, o := range offers {
		e := exchange.Offer{ID: o.ID, Member: o.Member, Batch: 2 * o.Batch, Variety: o.Variety, Stock: o.Stock, Number: o.Free, From: o.From, Until: o.Until}
		if shared[o.Batch] > 1 {
			b, err := batchByID(ctx, tx, o.Batch)
			if err != nil {
				return nil, nil, err
			}
			v, err := varietyByID(ctx, tx, o.Variety)
			if err != nil {
				return nil, nil, err
			}
			if shoots(b.Stage, o.Stock) {
				e.Batch++
			}
			if pools[e.Batch], err = a.pool(ctx, b, v, shoots(b.Stage, o.Stock)); err != nil {
				return nil, nil, err
			}
		}
		all = append(all, e)
	}
	return all, pools, nil
}

// wanted gives the wants, each with the varieties that serve it.
func (m *Match) wanted(ctx context.Context, tx *sql.Tx, coop int64, today calendar.Day) (all []exchange.Want, err error) {
	wants, err := list(ctx, tx, scanWant, openWants, coop, day(today))
	if err != nil {
		return nil, err
	}
	varieties, err := list(ctx, tx, scanVariety, selectVarieties, coop)
	if err != nil {
		return nil, err
	}
	m.Varieties = make(map[int64]Variety, len(varieties))
	for _, v := range varieties {
		m.Varieties[v.ID] = v
	}
	m.Wants = make(map[int64]Want, len(wants))
	for _, w := range wants {
		m.Wants[w.ID] = w
		e := exchange.Want{ID: w.ID, Member: w.Member, Stock: w.Stock, Number: w.Free, Last: w.Last}
		if w.Variety != 0 {
			e.Varieties = []int64{w.Variety}
		} else {
			for _, v := range varieties {
				if w.Fits(v, m.Varieties[w.Like]) {
					e.Varieties = append(e.Varieties, v.ID)
				}
			}
		}
		all = append(all, e)
	}
	return all, nil
}

// pending gives what members have given and received, agreed swaps counting as done. Of an open proposal, which may come
// about or not, the last of a chain counts as having received: so the rule holds whatever is agreed.
func pending(ctx context.Context, tx *sql.Tx, coop int64) (map[int64]exchange.Ledger, error) {
	ledgers := map[int64]exchange.Ledger{}
	_, err := list(ctx, tx, func(row scanner) (member int64, err error) {
		var gave bool
		var n int
		err = row.Scan(&member, &gave, &n)
		l := ledgers[member]
		if gave {
			l.Given += n
		} else {
			l.Received += n
		}
		ledgers[member] = l
		return member, err
	}, coopTallies, coop)
	if err != nil {
		return nil, err
	}
	parts, err := list(ctx, tx, scanSwap, openParts, coop)
	if err != nil {
		return nil, err
	}
	for i := 0; i < len(parts); {
		end := i
		for end+1 < len(parts) && parts[end+1].Proposal == parts[i].Proposal {
			end++
		}
		if last := parts[end]; last.Receiver != parts[i].Giver {
			l := ledgers[last.Receiver]
			l.Received += last.Number
			ledgers[last.Receiver] = l
		}
		i = end + 1
	}
	return ledgers, nil
}

const (
	insertProposal = `INSERT INTO proposal (coop, made, expires, state) VALUES ($1, $2, $3, 'open') RETURNING id`
	insertAssent   = `INSERT INTO assent (proposal, member) VALUES ($1, $2) ON CONFLICT (proposal, member) DO NOTHING`
	insertSwap     = `
INSERT INTO swap (coop, proposal, offer, want, giver, receiver, batch, variety, stock, number, shoots, first, last, state)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, 'proposed') RETURNING id`
)

// Propose finds the best set of handovers as things stand in this very transaction, and puts its proposals to their
// members. Their numbers are held back from then on.
func (r *Register) Propose(ctx context.Context, actor Actor) (m Match, made []Proposal, err error) {
	return m, made, r.act(ctx, actor, func(a *act) error {
		if err := a.tend(ctx); err != nil {
			return err
		}
		market, err := m.market(ctx, a.Tx, a.own.Coop, a.today)
		if err != nil {
			return err
		}
		m.Result = exchange.Match(market)
		for _, p := range m.Proposals {
			kept, err := a.propose(ctx, m, p)
			if err != nil {
				return fmt.Errorf("proposing: %w", err)
			}
			made = append(made, kept)
		}
		return nil
	})
}

func (a *act) propose(ctx context.Context, m Match, p exchange.Proposal) (Proposal, error) {
	expires := a.today.Add(AgreeDays)
	for _, h := range p.Handovers {
		expires = min(expires, h.Last)
	}
	id, err := scanID(a.QueryRowContext(ctx, insertProposal, a.own.Coop, day(a.today), day(expires)))
	if err != nil {
		return Proposal{}, err
	}
	for _, h := range p.Handovers {
		if err := a.proposeOne(ctx, id, m.Offers[h.Offer], h); err != nil {
			return Proposal{}, err
		}
	}
	made, err := proposalByID(ctx, a.Tx, id)
	for _, s := range made.Says {
		if err := a.tell(ctx, s.Member, TellProposed, id); err != nil {
			return made, err
		}
	}
	return made, err
}

func (a *act) proposeOne(ctx context.Context, proposal int64, o Offer, h exchange.Handover) error {
	b, err := batchByID(ctx, a.Tx, o.Batch)
	if err != nil {
		return err
	}
	s := Swap{Batch: o.Batch, Want: h.Want}
	s.ID, err = scanID(a.QueryRowContext(ctx, insertSwap, a.own.Coop, proposal, h.Offer, h.Want, h.Giver, h.Receiver, o.Batch, h.Variety, h.Stock,
		h.Number, shoots(b.Stage, h.Stock), day(h.First), day(h.Last)))
	if err != nil {
		return err
	}
	for _, m := range []int64{h.Giver, h.Receiver} {
		if err := exec(ctx, a.Tx, insertAssent, proposal, m); err != nil {
			return err
		}
	}
	return a.recount(ctx, s)
}
