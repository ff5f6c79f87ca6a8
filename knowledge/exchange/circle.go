package exchange

import "slices"

// circle is who gives what to whom, as a graph whose arcs are handovers that still wait for a proposal.
type circle struct {
	all      []Handover
	left     []int  // units, by handover
	apart    []bool // by handover: no ring goes through it any more
	giver    []int  // by handover: place of the member in gives
	receiver []int
	gives    [][]int // by member: handovers
	reached  []step  // by member
	search   int
	queue    []int
}

// step is how a search came to a member: by which handover, after how many.
type step struct{ by, depth, search int }

func newCircle(handovers []Handover) *circle {
	g := &circle{all: handovers}
	places := make(map[int64]int)
	place := func(member int64) int {
		p, ok := places[member]
		if !ok {
			p = len(places)
			places[member] = p
			g.gives = append(g.gives, nil)
		}
		return p
	}
	for i, h := range handovers {
		giver, receiver := place(h.Giver), place(h.Receiver)
		g.giver, g.receiver = append(g.giver, giver), append(g.receiver, receiver)
		g.left = append(g.left, h.Number)
		g.gives[giver] = append(g.gives[giver], i)
	}
	g.reached = make([]step, len(g.gives))
	g.apart = make([]bool, len(handovers))
	return g
}

// rings takes out all rings, short ones first: each round bounds their length at double the last.
func (g *circle) rings() []Proposal {
	var rings []Proposal
	for bound := 2; ; bound *= 2 {
		for i := range g.all {
			for g.left[i] > 0 && !g.apart[i] {
				ring := g.ring(i, bound)
				if ring == nil {
					break
				}
				rings = append(rings, g.take(ring, g.left[i]))
			}
		}
		if bound >= len(g.gives) {
			return rings
		}
	}
}

// ring gives the shortest ring through a handover, nil if there is none of at most so many handovers.
func (g *circle) ring(through, bound int) []int {
	g.search++
	home := g.giver[through]
	g.queue = append(g.queue[:0], g.receiver[through])
	g.reached[g.receiver[through]] = step{by: through, depth: 1, search: g.search}
	for at := 0; at < len(g.queue); at++ {
		member := g.queue[at]
		depth := g.reached[member].depth
		if depth == bound {
			return nil
		}
		for _, i := range g.gives[member] {
			to := g.receiver[i]
			if g.left[i] == 0 || g.apart[i] || g.reached[to].search == g.search {
				continue
			}
			g.reached[to] = step{by: i, depth: depth + 1, search: g.search}
			if to == home {
				return g.trail(home, through)
			}
			g.queue = append(g.queue, to)
		}
	}
	g.apart[through] = true
	return nil
}

// trail gives the handovers by which the last search came to a member, from the one it began with.
func (g *circle) trail(member, first int) []int {
	for back := []int(nil); ; member = g.giver[back[len(back)-1]] {
		back = append(back, g.reached[member].by)
		if back[len(back)-1] == first {
			slices.Reverse(back)
			return back
		}
	}
}

// paths takes out what is left when there are no rings: from members who give more than they receive to members who
// receive more than they give.
func (g *circle) paths() []Proposal {
	net := make([]int, len(g.gives)) // given − received
	for i, n := range g.left {
		net[g.giver[i]] += n
		net[g.receiver[i]] -= n
	}
	var paths []Proposal
	for i, giver := range g.giver {
		for g.left[i] > 0 && net[giver] > 0 {
			trail, end := []int{i}, g.receiver[i]
			for net[end] >= 0 { // whoever does not receive more than they give has something left to give
				next := slices.IndexFunc(g.gives[end], func(i int) bool { return g.left[i] > 0 })
				trail = append(trail, g.gives[end][next])
				end = g.receiver[g.gives[end][next]]
			}
			p := g.take(trail, min(net[giver], -net[end]))
			net[giver] -= p.last().Number
			net[end] += p.last().Number
			paths = append(paths, p)
		}
	}
	return paths
}

// take makes a proposal of handovers, of as many units each as all of them still have, and at most so many.
func (g *circle) take(trail []int, units int) Proposal {
	for _, i := range trail {
		units = min(units, g.left[i])
	}
	var p Proposal
	for _, i := range trail {
		g.left[i] -= units
		h := g.all[i]
		h.Number = units
		p.Handovers = append(p.Handovers, h)
	}
	return p
}
