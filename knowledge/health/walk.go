package health

import (
	"cmp"
	"slices"

	"shortday/knowledge/calendar"
)

// graph is what was looked up of a register, with the batches numbered in the order in which a trace came upon them.
type graph struct {
	look  Lookup
	index map[int64]int32
	nodes []node
}

// node is a batch; until it is looked up only its number is known.
type node struct {
	batch  int64
	record Record
	others []int32 // by tie: the node at its other end
	known  bool
}

// at gives the number of a batch.
func (g *graph) at(batch int64) int32 {
	i, ok := g.index[batch]
	if !ok {
		i = int32(len(g.nodes))
		g.index[batch], g.nodes = i, append(g.nodes, node{batch: batch})
	}
	return i
}

// known looks a node up, once.
func (g *graph) known(i int32) (*node, error) {
	if g.nodes[i].known {
		return &g.nodes[i], nil
	}
	batch := g.nodes[i].batch
	rec, err := g.look(batch)
	if err != nil {
		return nil, err
	}
	others := make([]int32, len(rec.Ties))
	for k := range rec.Ties {
		others[k] = g.at(rec.Ties[k].other(batch))
	}
	g.nodes[i] = node{batch, rec, others, true}
	return &g.nodes[i], nil
}

// walk is one trace under way, hop by hop: first back, to the batches that could have infected the one reported, then
// forth from all of those. A batch that is reached again is gone on from only if it is reached at a better day: a
// later one on the way back, an earlier one on the way forth.
type walk struct {
	*graph
	since, end calendar.Day // the infection was nowhere before, and shows after
	labels     []label
	sources    marks // reached on the way back
	reached    marks // reached on the way forth, the sources among them
}

// label is one way to a batch.
type label struct {
	node int32
	prev int32 // label it was reached from; −1 for the batch reported
	hops int32
	day  calendar.Day
	by   *Tie
}

// mark is what is known of a batch reached: its label of fewest hops, the one to go on from, the best day, and the day
// from which it was last gone on, beyond which every hop has been followed.
type mark struct {
	first, now int32
	day, done  calendar.Day
	ok         bool // it was reached
}

// marks are those of the nodes by number.
type marks []mark

// of gives the mark of a node, which may be changed until the next is asked for.
func (m *marks) of(i int32) *mark {
	if int(i) >= len(*m) {
		*m = append(*m, make(marks, max(int(i)+1-len(*m), len(*m)))...)
	}
	return &(*m)[i]
}

// has gives the mark of a node if it was reached.
func (m marks) has(i int32) (mark, bool) {
	if int(i) >= len(m) {
		return mark{}, false
	}
	return m[i], m[i].ok
}

// within walks as far as so many days back.
func (r Report) within(back int, g *graph) (*walk, error) {
	w := &walk{graph: g, since: r.Seen.Add(-back), end: r.Seen.Add(r.Pest.Hidden.Forward)}
	w.arrive(&w.sources, label{node: g.at(r.Batch), day: r.Seen, prev: -1}, later)
	for i := int32(0); int(i) < len(w.labels); i++ {
		if err := w.ties(i, &w.sources, w.back); err != nil {
			return nil, err
		}
	}
	return w, w.onward()
}

// onward walks forth from all sources, each joining in at its own number of hops as one that had the pest all along.
func (w *walk) onward() error {
	var starts []int32
	for _, m := range w.sources {
		if m.ok {
			starts = append(starts, m.first)
		}
	}
	slices.SortFunc(starts, func(a, b int32) int {
		return cmp.Or(cmp.Compare(w.labels[a].hops, w.labels[b].hops), cmp.Compare(a, b))
	})
	for turn := len(w.labels); ; turn++ {
		for len(starts) > 0 && (turn == len(w.labels) || w.labels[starts[0]].hops <= w.labels[turn].hops) {
			start := w.labels[starts[0]]
			start.day, starts = w.since, starts[1:]
			w.arrive(&w.reached, start, earlier)
		}
		if turn == len(w.labels) {
			return nil
		}
		if err := w.ties(int32(turn), &w.reached, w.forth); err != nil {
			return err
		}
	}
}

// ties follows what leads on from a label, unless its batch has been reached at a better day by as few hops.
func (w *walk) ties(i int32, all *marks, follow func(i int32, done calendar.Day, t *Tie, other int32)) error {
	l := w.labels[i]
	m := *all.of(l.node)
	if m.now != i && w.labels[m.now].hops == l.hops {
		return nil
	}
	n, err := w.known(l.node)
	if err != nil {
		return err
	}
	for k := range n.record.Ties {
		follow(i, m.done, &n.record.Ties[k], n.others[k])
	}
	all.of(l.node).done = l.day
	return nil
}

// back follows a tie against the order of days.
func (w *walk) back(i int32, done calendar.Day, t *Tie, other int32) {
	l := &w.labels[i]
	day := t.First
	switch {
	case t.Manner == Beside:
		day = min(t.Last, l.day)
		if max(t.First, w.since) > day {
			return
		}
	case t.To != w.nodes[l.node].batch || day < w.since || day > l.day || day <= done:
		return
	}
	w.arrive(&w.sources, label{node: other, day: day, hops: l.hops + 1, prev: i, by: t}, later)
}

// forth follows a tie in the order of days.
func (w *walk) forth(i int32, done calendar.Day, t *Tie, other int32) {
	l := &w.labels[i]
	day := t.First
	switch {
	case t.Manner == Beside:
		day = max(t.First, l.day)
		if day > min(t.Last, w.end) {
			return
		}
	case t.From != w.nodes[l.node].batch || day < l.day || day > w.end || done > 0 && day >= done:
		return
	}
	w.arrive(&w.reached, label{node: other, day: day, hops: l.hops + 1, prev: i, by: t}, earlier)
}

func later(day, than calendar.Day) bool { return day > than }

func earlier(day, than calendar.Day) bool { return day < than }

// arrive enters a label if its batch was not reached before, or only at a day that is not as good.
func (w *walk) arrive(all *marks, l label, better func(day, than calendar.Day) bool) {
	m := all.of(l.node)
	if m.ok && !better(l.day, m.day) {
		return
	}
	m.now, m.day = int32(len(w.labels)), l.day
	if !m.ok || w.labels[m.first].hops == l.hops {
		m.first = m.now
	}
	m.ok = true
	w.labels = append(w.labels, l)
}

// mark gives what is known of a node reached, as a source if it is one.
func (w *walk) mark(i int32) (mark, Side) {
	if m, ok := w.sources.has(i); ok {
		return m, Source
	}
	return w.reached[i], Target
}

// path gives the ties to a label from the batch reported.
func (w *walk) path(i int32) []Tie {
	path := make([]Tie, w.labels[i].hops)
	for ; w.labels[i].prev >= 0; i = w.labels[i].prev {
		path[w.labels[i].hops-1] = *w.labels[i].by
	}
	return path
}

func (t Tie) other(batch int64) int64 {
	if t.From == batch {
		return t.To
	}
	return t.From
}
