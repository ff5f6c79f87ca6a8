package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// lane is a garden in which swaps are made: who has what, by name.
type lane struct {
	*garden
	on     string
	people map[string]register.Member
	kinds  map[string]register.Variety
}

func swapLane(t testing.TB, names ...string) *lane {
	t.Helper()
	l := &lane{garden: plant(t), on: "2026-02-01", people: map[string]register.Member{}, kinds: map[string]register.Variety{}}
	l.people["Nora"], l.people["Piet"] = l.nora, l.piet
	for _, name := range names {
		l.people[name] = l.enter(name, name)
	}
	return l
}

func (l *lane) who(name string) register.Actor { return l.by(l.people[name], l.on) }

func (l *lane) kind(name string) register.Variety {
	if v, ok := l.kinds[name]; ok {
		return v
	}
	v, err := l.AddVariety(l.t.Context(), l.by(l.nora, "2026-01-02"), variety.Variety{Name: name, Season: variety.Late, Form: variety.Spray, Protection: variety.Free})
	require.NoError(l.t, err)
	l.kinds[name] = v
	return v
}

func (l *lane) has(who, kind string, stage crop.Stage, n int) register.Batch {
	l.t.Helper()
	out, err := l.Add(l.t.Context(), l.who(who), register.Stock{Variety: l.kind(kind).ID, Stage: stage, Count: n, Since: day(l.t, l.on).Add(-20)})
	require.NoError(l.t, err)
	return out.Batches[0]
}

func (l *lane) offers(who, kind string, n int) (register.Offer, register.Batch) {
	l.t.Helper()
	b := l.has(who, kind, crop.Potted, n+2)
	o, err := l.MakeOffer(l.t.Context(), l.who(who), register.Offering{Batch: b.ID, Number: n, Stock: exchange.Rooted, Until: day(l.t, l.on).Add(40)})
	require.NoError(l.t, err)
	return o, b
}

func (l *lane) wants(who, kind string, n int) register.Want {
	l.t.Helper()
	w, err := l.MakeWant(l.t.Context(), l.who(who), register.Wish{Variety: l.kind(kind).ID, Number: n, Stock: exchange.Rooted, Last: day(l.t, l.on).Add(60)})
	require.NoError(l.t, err)
	return w
}

func (l *lane) propose() []register.Proposal {
	l.t.Helper()
	_, made, err := l.Propose(l.t.Context(), l.who("Nora"))
	require.NoError(l.t, err)
	return made
}

func (l *lane) agree(p register.Proposal, names ...string) register.Proposal {
	l.t.Helper()
	for _, name := range names {
		var err error
		p, err = l.Agree(l.t.Context(), l.who(name), p.ID)
		require.NoError(l.t, err)
	}
	return p
}

func (l *lane) batch(id int64) register.Batch {
	l.t.Helper()
	b, err := l.Batch(l.t.Context(), id)
	require.NoError(l.t, err)
	return b
}

func (l *lane) free(o register.Offer) int {
	l.t.Helper()
	o, err := l.Offer(l.t.Context(), o.ID)
	require.NoError(l.t, err)
	return o.Free
}

func (l *lane) told(name string) (kinds []register.TidingKind) {
	l.t.Helper()
	all, err := l.Tidings(l.t.Context(), 1000)
	require.NoError(l.t, err)
	for _, tiding := range all {
		if tiding.Member == l.people[name].ID {
			kinds = append(kinds, tiding.Kind)
		}
	}
	return kinds
}

func (l *lane) member(id int64) register.Member {
	for _, m := range l.people {
		if m.ID == id {
			return m
		}
	}
	l.t.Fatal("no such member")
	return register.Member{}
}
