package register

import (
	"context"
	"database/sql"

	"shortday/knowledge/calendar"
	"shortday/knowledge/variety"
)

// Export is all that the register holds of a member.
type Export struct {
	Coop      string
	Member    Member
	Varieties []OwnVariety // those with own stops or response
	Batches   []Batch      // those without plants too
	Plans     []Plan
	Jobs      []Job
	Events    []Event
	Counts    []BatchCount
	Blooms    []BloomRow
	Holds     []Hold // of their batches, ended ones too
	Offers    []Offer
	Wants     []Want
	Swaps     []Swap   // given or received, also those that came to nothing
	Answers   []Assent // to proposals
	Reports   []Report // of pests on their plants, those taken back too
	Learnt    []Learning
	Tidings   []Tiding // what the member was or will be told
	Kept      []Kept   // requests offered to the member that did not fit on a button
	Reach     Reach
	Reminders ReminderSetting
	Said      []Word   // what was told of the member's jobs
	Strokes   []Stroke // how far what they are told has come
	Tellings  []Telling
	Promises  []Promise // that the member made for the co-op
	Listings  []Listing // lists that the member brought
	Notes     []Note    // undone ones too; their photos come as files
}

// Learning is a report of another member that the member was told of, or asked after.
type Learning struct {
	Report int64
	On     calendar.Day
	Asked  bool
}

// OwnVariety is what a member holds of a variety for themselves.
type OwnVariety struct {
	Name     string
	Stops    []variety.Stop
	Response float64
}

// BatchCount is one deed of a batch's number: Event is its number in Events.
type BatchCount struct {
	Event, Batch int64
	Kind         CountKind
	Delta        int
}

// BloomRow is one bloom recorded: Event is its number in Events.
type BloomRow struct {
	Event int64
	Bloom Bloom
}

const (
	selectAllBatches = selectBatches + `WHERE b.member = $1 ORDER BY b.id`
	selectAllCounts  = `SELECT t.event, t.batch, t.deed, t.delta FROM touch t JOIN event e ON e.id = t.event WHERE e.member = $1 AND t.deed <> '' ORDER BY t.event, t.batch, t.deed`
	selectAllBlooms  = `SELECT b.event, e.variety, e.plan, b.opened, b.full, b.picked, b.stems, e.note FROM bloom b JOIN event e ON e.id = b.event WHERE e.member = $1 ORDER BY b.event`
	selectLearnt     = `SELECT report, day, asked FROM warned WHERE member = $1 ORDER BY report`
	selectOwn        = `SELECT variety FROM stop WHERE member = $1 UNION SELECT variety FROM own_response WHERE member = $1 ORDER BY 1`
)

// Export gives a member all that the register holds of them.
func (r *Register) Export(ctx context.Context, member int64) (x Export, err error) {
	err = r.read(ctx, func(tx *sql.Tx) error {
		seat, err := seatOf(ctx, tx, member)
		if err != nil {
			return err
		}
		x.Coop, x.Member = seat.Coop.Name, seat.Member
		if x.Varieties, err = ownVarieties(ctx, tx, member); err != nil {
			return err
		}
		if x.Batches, err = list(ctx, tx, scanBatch, selectAllBatches, member); err != nil {
			return err
		}
		if x.Plans, err = list(ctx, tx, scanPlan, selectAllPlans, member); err != nil {
			return err
		}
		if x.Jobs, err = list(ctx, tx, scanJob, selectAllJobs, member); err != nil {
			return err
		}
		if x.Events, err = list(ctx, tx, scanEvent, selectWholeLog, member); err != nil {
			return err
		}
		if x.Counts, err = list(ctx, tx, scanBatchCount, selectAllCounts, member); err != nil {
			return err
		}
		if x.Blooms, err = list(ctx, tx, scanBloomRow, selectAllBlooms, member); err != nil {
			return err
		}
		if x.Reports, err = list(ctx, tx, scanReport, selectReportsBy, member); err != nil {
			return err
		}
		if x.Learnt, err = list(ctx, tx, scanLearning, selectLearnt, member); err != nil {
			return err
		}
		if x.Holds, err = list(ctx, tx, scanHold, selectAllHolds, member); err != nil {
			return err
		}
		if x.Offers, err = list(ctx, tx, scanOffer, selectAllOffers, member); err != nil {
			return err
		}
		if x.Wants, err = list(ctx, tx, scanWant, selectAllWants, member); err != nil {
			return err
		}
		if x.Swaps, err = list(ctx, tx, scanSwap, selectAllSwaps, member); err != nil {
			return err
		}
		if x.Answers, err = list(ctx, tx, scanAssent, selectAllAssents, member); err != nil {
			return err
		}
		if x.Tidings, err = list(ctx, tx, scanTiding, selectOfMember, member); err != nil {
			return err
		}
		if x.Kept, err = list(ctx, tx, scanKept, selectKeptOf, seat.Coop.Key, seat.Member.Key); err != nil {
			return err
		}
		if x.Reach, err = reachOf(ctx, tx, member); err != nil {
			return err
		}
		if x.Reminders, err = remindersOf(ctx, tx, member); err != nil {
			return err
		}
		if x.Said, err = list(ctx, tx, scanWord, selectSaidOf, member); err != nil {
			return err
		}
		if x.Strokes, err = list(ctx, tx, scanStroke, selectOwnStrokes, member); err != nil {
			return err
		}
		if x.Tellings, err = list(ctx, tx, scanTelling, selectOwnTold, member); err != nil {
			return err
		}
		if x.Promises, err = list(ctx, tx, scanPromise, selectPromisesOf, member); err != nil {
			return err
		}
		if x.Listings, err = list(ctx, tx, scanListing, selectListings, member); err != nil {
			return err
		}
		x.Notes, err = list(ctx, tx, scanNote, selectAllNotes, member)
		return err
	})
	return x, err
}

func scanBatchCount(row scanner) (c BatchCount, err error) {
	err = row.Scan(&c.Event, &c.Batch, &c.Kind, &c.Delta)
	return c, err
}

func scanLearning(row scanner) (l Learning, err error) {
	err = row.Scan(&l.Report, (*day)(&l.On), &l.Asked)
	return l, err
}

func scanBloomRow(row scanner) (b BloomRow, err error) {
	err = row.Scan(&b.Event, &b.Bloom.Variety, (*ref)(&b.Bloom.Plan), (*day)(&b.Bloom.First), (*day)(&b.Bloom.Full), (*day)(&b.Bloom.Picked),
		&b.Bloom.Stems, &b.Bloom.Note)
	return b, err
}

func ownVarieties(ctx context.Context, tx *sql.Tx, member int64) (all []OwnVariety, err error) {
	ids, err := list(ctx, tx, scanID, selectOwn, member)
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		v, err := varietyByID(ctx, tx, id)
		if err != nil {
			return nil, err
		}
		own, err := ownOf(ctx, tx, member, v)
		if err != nil {
			return nil, err
		}
		all = append(all, own)
	}
	return all, nil
}
