package exchange

import "math"

// network carries whole units along arcs that each hold so many and cost so much, and finds the cheapest flow that
// empties its source into its sink: always along a shortest path, all paths of one length at once (primal-dual, with
// Dinic's blocking flows inside a length). Prices keep every usable arc's reduced cost at 0 or above.
type network struct {
	first []int32 // first[v]..first[v+1] are the arcs out of v
	arcs  []arc
	costs []cost // by arc.cost
	nodes []node

	next  []int32 // arcs of v before next[v] are done with in this layering
	queue []int32
	seen  []search
	round int32
}

// node keeps together what is asked for every arc that is looked at.
type node struct {
	price cost
	depth int32 // of the current layering, from 1 at the sink; 0 where not reached
}

// arc is one direction of a pipe; its pair runs the other way and holds what this one carries.
type arc struct {
	to, pair int32
	left     int32 // what it can still take
	cost     int16
	back     bool // the pair that only undoes
}

// search is what the current round of shortest paths knows of a node.
type search struct {
	far   cost
	round int32
	done  bool
}

// cost is what a unit costs by each objective, compared in order.
type cost [3]int32

func (c cost) plus(d cost) cost  { return cost{c[0] + d[0], c[1] + d[1], c[2] + d[2]} }
func (c cost) minus(d cost) cost { return cost{c[0] - d[0], c[1] - d[1], c[2] - d[2]} }

func (c cost) less(d cost) bool {
	if c[0] != d[0] {
		return c[0] < d[0]
	}
	if c[1] != d[1] {
		return c[1] < d[1]
	}
	return c[2] < d[2]
}

// unbounded holds more than any market; sums of two stay in an int32.
const unbounded = math.MaxInt32 / 2

// plumbing collects pipes before they are laid out node by node.
type plumbing struct {
	count int32
	pipes []pipe
	costs []cost
	index map[cost]int16
}

type pipe struct {
	from, to, holds int32
	cost            int16
}

func newPlumbing() *plumbing {
	return &plumbing{costs: []cost{{}, {}}, index: map[cost]int16{{}: 0}}
}

// node gives the first of n new nodes.
func (p *plumbing) node(n int) int32 {
	p.count += int32(n)
	return p.count - int32(n)
}

// join lays a pipe and gives its number.
func (p *plumbing) join(from, to int32, holds int, each cost) int32 {
	c, ok := p.index[each]
	if !ok {
		c = int16(len(p.costs))
		p.index[each] = c
		p.costs = append(p.costs, each, cost{}.minus(each))
	}
	p.pipes = append(p.pipes, pipe{from, to, int32(min(holds, unbounded)), c})
	return int32(len(p.pipes) - 1)
}

// network lays the pipes out; at gives the arc of each pipe.
func (p *plumbing) network() (n *network, at []int32) {
	n = &network{first: make([]int32, p.count+1), arcs: make([]arc, 2*len(p.pipes)), costs: p.costs}
	for _, e := range p.pipes {
		n.first[e.from+1]++
		n.first[e.to+1]++
	}
	for v := range p.count {
		n.first[v+1] += n.first[v]
	}
	free := append([]int32(nil), n.first...)
	at = make([]int32, len(p.pipes))
	for i, e := range p.pipes {
		there, back := free[e.from], free[e.to]
		free[e.from]++
		free[e.to]++
		n.arcs[there] = arc{to: e.to, pair: back, left: e.holds, cost: e.cost}
		n.arcs[back] = arc{to: e.from, pair: there, cost: e.cost + 1, back: true}
		at[i] = there
	}
	n.nodes = make([]node, p.count)
	n.next = make([]int32, p.count)
	n.seen = make([]search, p.count)
	return n, at
}

// carries gives the flow in a pipe, by its arc.
func (n *network) carries(a int32) int { return int(n.arcs[n.arcs[a].pair].left) }

// reduced gives the cost of an arc out of v, measured by the prices of its ends.
func (n *network) reduced(v int32, a *arc) cost {
	return n.costs[a.cost].plus(n.nodes[v].price).minus(n.nodes[a.to].price)
}

// free reports whether an arc out of v costs nothing by the prices.
func (n *network) free(v int32, a *arc) bool {
	if a.cost <= 1 {
		return n.nodes[v].price == n.nodes[a.to].price
	}
	return n.reduced(v, a) == cost{}
}

// fill sends all that fits from source to sink as cheaply as can be.
func (n *network) fill(source, sink int32) {
	for n.reprice(source, sink) {
		for n.layer(source, sink) {
			n.push(source, sink, unbounded)
		}
	}
}

// layer measures how many free arcs each node is from the sink, and reports whether the source can reach it. Prices grow
// from the source, so far fewer nodes lie on free ways to the sink than on free ways from the source.
func (n *network) layer(source, sink int32) bool {
	for _, v := range n.queue {
		n.nodes[v].depth = 0
	}
	n.nodes[sink].depth = 1
	n.queue = append(n.queue[:0], sink)
	for i := 0; i < len(n.queue) && n.nodes[source].depth == 0; i++ {
		v := n.queue[i]
		for k := n.first[v]; k < n.first[v+1]; k++ {
			a := &n.arcs[k]
			u := a.to
			if n.nodes[u].depth == 0 && n.free(v, a) && n.arcs[a.pair].left > 0 {
				n.nodes[u].depth, n.next[u] = n.nodes[v].depth+1, n.first[u]
				n.queue = append(n.queue, u)
			}
		}
	}
	return n.nodes[source].depth > 0
}

// push sends at most units from v to the sink through the layers and gives what got there.
func (n *network) push(v, sink, units int32) int32 {
	if v == sink {
		return units
	}
	sent := int32(0)
	for ; n.next[v] < n.first[v+1]; n.next[v]++ {
		a := &n.arcs[n.next[v]]
		if a.left == 0 || n.nodes[a.to].depth != n.nodes[v].depth-1 || n.nodes[a.to].depth == 0 || !n.free(v, a) {
			continue
		}
		s := n.push(a.to, sink, min(units-sent, a.left))
		a.left -= s
		n.arcs[a.pair].left += s
		if sent += s; sent == units {
			return sent
		}
	}
	return sent
}

// reprice moves the prices so that a shortest path to the sink is free, and reports whether there is a path at all.
func (n *network) reprice(source, sink int32) bool {
	reached := n.distances(source, sink, false)
	if reached == nil {
		return false
	}
	end := n.seen[sink].far
	for _, v := range reached {
		n.nodes[v].price = n.nodes[v].price.plus(n.seen[v].far).minus(end)
	}
	return true
}

// distances gives the nodes whose distance from a node by reduced cost is now in seen, nearest first (Dijkstra). It
// stops at a node, or goes on through all if that is −1; nil if the node to stop at cannot be reached. Backwards, it is
// the distance to the node.
func (n *network) distances(from, stop int32, backwards bool) []int32 {
	n.round++
	n.seen[from] = search{round: n.round}
	reached, near, far := []int32(nil), []int32{from}, &frontier{}
	for {
		var v int32
		if len(near) > 0 {
			v, near = near[len(near)-1], near[:len(near)-1]
		} else if len(*far) > 0 {
			v = far.pop().node
		} else {
			break
		}
		here := &n.seen[v]
		if here.done {
			continue
		}
		here.done = true
		if v == stop {
			return append(reached, v)
		}
		reached = append(reached, v)
		near = n.relax(v, here.far, near, far, backwards)
	}
	if stop >= 0 {
		return nil
	}
	return reached
}

// relax spreads a settled node's distance along its arcs; what lies no further than itself is put on near.
func (n *network) relax(v int32, far cost, near []int32, rest *frontier, backwards bool) []int32 {
	for k := n.first[v]; k < n.first[v+1]; k++ {
		a, from := &n.arcs[k], v
		to := a.to
		if backwards {
			a, from = &n.arcs[a.pair], a.to
		}
		if a.left == 0 {
			continue
		}
		there := &n.seen[to]
		if there.round == n.round && (there.done || !far.less(there.far)) {
			continue
		}
		d := far.plus(n.reduced(from, a))
		if there.round == n.round && !d.less(there.far) {
			continue
		}
		*there = search{far: d, round: n.round}
		if d == far {
			near = append(near, to)
		} else {
			rest.push(waiting{d, to})
		}
	}
	return near
}

// frontier is a binary heap of nodes reached and not settled, nearest first.
type frontier []waiting

type waiting struct {
	far  cost
	node int32
}

func (f *frontier) push(w waiting) {
	h := append(*f, w)
	i := len(h) - 1
	for ; i > 0 && w.far.less(h[(i-1)/2].far); i = (i - 1) / 2 {
		h[i] = h[(i-1)/2]
	}
	h[i] = w
	*f = h
}

func (f *frontier) pop() waiting {
	h := *f
	top, w := h[0], h[len(h)-1]
	h = h[:len(h)-1]
	*f = h
	for i := 0; len(h) > 0; {
		child := 2*i + 1
		if child+1 < len(h) && h[child+1].far.less(h[child].far) {
			child++
		}
		if child >= len(h) || !h[child].far.less(w.far) {
			h[i] = w
			break
		}
		h[i], i = h[child], child
	}
	return top
}
