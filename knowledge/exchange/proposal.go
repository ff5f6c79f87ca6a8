package exchange

import (
	"cmp"
	"slices"
)

// proposals divides handovers into rings and chains. Rings move no balance. A chain uses up credit of its last member
// alone, and each member's credit is shared out among the chains that end there, so that the rule holds whichever of
// them come about. Where a member on the way has credit to spare, a chain is cut there in two, the longest first.
func proposals(m *Market, handovers []Handover) []Proposal {
	g := newCircle(handovers)
	chains := g.rings()
	chains = append(chains, g.paths()...)
	credit := make(map[int64]int)
	for _, h := range handovers {
		credit[h.Receiver] = m.slack(h.Receiver)
	}
	for _, c := range chains {
		if !c.Ring() {
			credit[c.last().Receiver] -= c.last().Number
		}
	}
	slices.SortStableFunc(chains, func(a, b Proposal) int { return cmp.Compare(len(b.Handovers), len(a.Handovers)) })
	var all []Proposal
	for _, c := range chains {
		all = append(all, c.cut(credit)...)
	}
	return merged(all)
}

func (p Proposal) last() Handover { return p.Handovers[len(p.Handovers)-1] }

// cut divides a chain at the members whose credit covers it, and takes that credit. A ring falls apart only if there
// are two such members or more.
func (p Proposal) cut(credit map[int64]int) []Proposal {
	var at []int // handovers after which to cut
	for i, h := range p.Handovers {
		if (i < len(p.Handovers)-1 || p.Ring()) && credit[h.Receiver] >= h.Number {
			at = append(at, i)
		}
	}
	if len(at) == 0 || p.Ring() && len(at) == 1 {
		return []Proposal{p}
	}
	turned := p.Handovers
	if p.Ring() {
		turned = slices.Concat(p.Handovers[at[0]+1:], p.Handovers[:at[0]+1])
	}
	var parts []Proposal
	start := 0
	for i, h := range turned {
		if end := i == len(turned)-1; end && !p.Ring() {
			parts = append(parts, Proposal{turned[start:]})
		} else if credit[h.Receiver] >= h.Number {
			credit[h.Receiver] -= h.Number
			parts = append(parts, Proposal{turned[start : i+1]})
			start = i + 1
		}
	}
	return parts
}

// merged joins gifts of one offer to one want: cutting may have left several.
func merged(all []Proposal) []Proposal {
	type pair struct{ offer, want int64 }
	at := make(map[pair]int)
	var out []Proposal
	for _, p := range all {
		if len(p.Handovers) > 1 {
			out = append(out, p)
			continue
		}
		h := p.Handovers[0]
		if i, ok := at[pair{h.Offer, h.Want}]; ok {
			out[i].Handovers[0].Number += h.Number
			continue
		}
		at[pair{h.Offer, h.Want}] = len(out)
		out = append(out, Proposal{[]Handover{h}})
	}
	return out
}
