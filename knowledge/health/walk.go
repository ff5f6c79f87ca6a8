package health

import (
	"cmp"
	"slices"

	"shortday/knowledge/calendar"
)

// walk is one trace under way, hop by hop: first back, to the batches that could have infected the one reported, then
// forth from all of those. A batch that is reached again is gone on from only if it is reached at a better day: a
// later one on the way back, an earlier one on the way forth.
type walk struct {
	since, end calendar.Day // the infection was nowhere before, and shows after
	records    map[int64]Record
	look       Lookup
	labels     []label
	sources    map[int64]mark // by batch: reached on the way back
	reached    map[int64]mark // by batch: reached on the way forth, the sources among them
}

// label is one way to a batch.
type label struct {
	batch int64
	day   calendar.Day
	hops  int
	prev  int // label it was reached from; −1 for the batch reported
	by    Tie
}

// mark is what is known of a batch reached: its label of fewest hops, the one to go on from, the best day, and the day
// from which it was last gone on, beyond which every hop has been followed.
type mark struct {
	first, now int
	day, done  calendar.Day
}

// within walks as far as so many days back.
func (r Report) within(back int, records map[int64]Record, look Lookup) (*walk, error) {
	w := &walk{
		since: r.Seen.Add(-back), end: r.Seen.Add(r.Pest.Hidden.Forward),
		records: records, look: look, sources: make(map[int64]mark), reached: make(map[int64]mark),
	}
	w.arrive(w.sources, label{batch: r.Batch, day: r.Seen, prev: -1}, later)
	for i := 0; i < len(w.labels); i++ {
		if err := w.ties(i, w.sources, w.back); err != nil {
			return nil, err
		}
	}
	return w, w.onward()
}

// onward walks forth from all sources, each joining in at its own number of hops as one that had the pest all along.
func (w *walk) onward() error {
	var starts []int
	for _, m := range w.sources {
		starts = append(starts, m.first)
	}
	slices.SortFunc(starts, func(a, b int) int {
		return cmp.Or(cmp.Compare(w.labels[a].hops, w.labels[b].hops), cmp.Compare(a, b))
	})
	for turn := len(w.labels); ; turn++ {
		for len(starts) > 0 && (turn == len(w.labels) || w.labels[starts[0]].hops <= w.labels[turn].hops) {
			start := w.labels[starts[0]]
			start.day, starts = w.since, starts[1:]
			w.arrive(w.reached, start, earlier)
		}
		if turn == len(w.labels) {
			return nil
		}
		if err := w.ties(turn, w.reached, w.forth); err != nil {
			return err
		}
	}
}

// ties follows what leads on from a label, unless its batch has been reached at a better day by as few hops.
func (w *walk) ties(i int, marks map[int64]mark, follow func(i int, done calendar.Day, t Tie)) error {
	batch := w.labels[i].batch
	m := marks[batch]
	if m.now != i && w.labels[m.now].hops == w.labels[i].hops {
		return nil
	}
	rec, ok := w.records[batch]
	if !ok {
		var err error
		if rec, err = w.look(batch); err != nil {
			return err
		}
		w.records[batch] = rec
	}
	for _, t := range rec.Ties {
		follow(i, m.done, t)
	}
	m.done = w.labels[i].day
	marks[batch] = m
	return nil
}

// back follows a tie against the order of days.
func (w *walk) back(i int, done calendar.Day, t Tie) {
	l := &w.labels[i]
	from, day := t.From, t.First
	switch {
	case t.Manner == Beside:
		from, day = t.other(l.batch), min(t.Last, l.day)
		if max(t.First, w.since) > day {
			return
		}
	case t.To != l.batch || day < w.since || day > l.day || day <= done:
		return
	}
	w.arrive(w.sources, label{batch: from, day: day, hops: l.hops + 1, prev: i, by: t}, later)
}

// forth follows a tie in the order of days.
func (w *walk) forth(i int, done calendar.Day, t Tie) {
	l := &w.labels[i]
	to, day := t.To, t.First
	switch {
	case t.Manner == Beside:
		to, day = t.other(l.batch), max(t.First, l.day)
		if day > min(t.Last, w.end) {
			return
		}
	case t.From != l.batch || day < l.day || day > w.end || done > 0 && day >= done:
		return
	}
	w.arrive(w.reached, label{batch: to, day: day, hops: l.hops + 1, prev: i, by: t}, earlier)
}

func later(day, than calendar.Day) bool { return day > than }

func earlier(day, than calendar.Day) bool { return day < than }

// arrive enters a label if its batch was not reached before, or only at a day that is not as good.
func (w *walk) arrive(marks map[int64]mark, l label, better func(day, than calendar.Day) bool) {
	m, ok := marks[l.batch]
	if ok && !better(l.day, m.day) {
		return
	}
	m.now, m.day = len(w.labels), l.day
	if !ok || w.labels[m.first].hops == l.hops {
		m.first = m.now
	}
	marks[l.batch] = m
	w.labels = append(w.labels, l)
}

// mark gives what is known of a batch reached, as a source if it is one.
func (w *walk) mark(batch int64) (mark, Side) {
	if m, ok := w.sources[batch]; ok {
		return m, Source
	}
	return w.reached[batch], Target
}

// path gives the ties to a label from the batch reported.
func (w *walk) path(i int) []Tie {
	path := make([]Tie, w.labels[i].hops)
	for ; w.labels[i].prev >= 0; i = w.labels[i].prev {
		path[w.labels[i].hops-1] = w.labels[i].by
	}
	return path
}

func (t Tie) other(batch int64) int64 {
	if t.From == batch {
		return t.To
	}
	return t.From
}
