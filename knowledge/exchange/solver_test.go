package exchange_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/exchange"
)

// Debian's coinor-cbc or glpk-utils. CI leaves the flag out.
var solver = flag.String("solver", "", "hold Match against this `program`: cbc or glpsol")

// program is a market as a linear program, straight from the definition: a variable for each offer and want that fit.
type program struct {
	worth  []exchange.Score
	limits []string
}

func newProgram(m exchange.Market) program {
	var p program
	rows := map[string]*strings.Builder{}
	var order []string
	most := map[string]int{}
	add := func(row string, sign string, x, limit int) {
		if rows[row] == nil {
			rows[row] = &strings.Builder{}
			order = append(order, row)
			most[row] = limit
		}
		fmt.Fprintf(rows[row], " %s x%d\n", sign, x)
	}
	type fit struct {
		variety int64
		stock   exchange.Stock
	}
	shelves := map[fit][]exchange.Offer{}
	for _, o := range m.Offers {
		shelves[fit{o.Variety, o.Stock}] = append(shelves[fit{o.Variety, o.Stock}], o)
	}
	credit := func(member int64) int {
		l := m.Ledgers[member]
		return max(0, m.Sharing.Credit-(l.Received-l.Given))
	}
	for _, w := range m.Wants {
		seen := map[int64]bool{}
		for _, v := range w.Varieties {
			for _, o := range shelves[fit{v, w.Stock}] {
				if seen[v] || !serves(m, o, w) {
					continue
				}
				x := len(p.worth)
				b := open(m)
				b.hand(o, w, 1)
				p.worth = append(p.worth, b.score)
				add(fmt.Sprint("offer", o.ID), "+", x, o.Number)
				add(fmt.Sprint("want", w.ID), "+", x, w.Number)
				if holds, ok := m.Batches[o.Batch]; ok {
					add(fmt.Sprint("batch", o.Batch), "+", x, holds)
				}
				if m.Sharing.Balanced {
					add(fmt.Sprint("member", w.Member), "+", x, credit(w.Member))
					add(fmt.Sprint("member", o.Member), "-", x, credit(o.Member))
				}
			}
			seen[v] = true
		}
	}
	for _, row := range order {
		p.limits = append(p.limits, fmt.Sprintf("%s:%s <= %d\n", row, rows[row], most[row]))
	}
	return p
}

// write gives the program in CPLEX LP format: maximise one objective, with those before it held at what they reached.
func (p program) write(of func(exchange.Score) int, held []func(exchange.Score) int, at []int) string {
	var b strings.Builder
	sum := func(of func(exchange.Score) int) {
		for x, s := range p.worth {
			fmt.Fprintf(&b, " + %d x%d\n", of(s), x)
		}
	}
	b.WriteString("Maximize\nobj:")
	sum(of)
	b.WriteString("Subject To\n" + strings.Join(p.limits, ""))
	for i, h := range held {
		fmt.Fprintf(&b, "held%d:", i)
		sum(h)
		fmt.Fprintf(&b, " >= %d\n", at[i])
	}
	b.WriteString("General\n")
	for x := range p.worth {
		fmt.Fprintf(&b, " x%d\n", x)
	}
	b.WriteString("End\n")
	return b.String()
}

var objectives = []func(exchange.Score) int{
	func(s exchange.Score) int { return s.Units },
	func(s exchange.Score) int { return s.Urgency },
	func(s exchange.Score) int { return s.Owed },
}

// solve fixes one objective at a time and gives the best score with the time that the solver alone took.
func (p program) solve(t testing.TB, name string) (exchange.Score, time.Duration) {
	if len(p.worth) == 0 {
		return exchange.Score{}, 0
	}
	var at []int
	var took time.Duration
	for i, of := range objectives {
		file := filepath.Join(t.TempDir(), "market.lp")
		require.NoError(t, os.WriteFile(file, []byte(p.write(of, objectives[:i], at)), 0o600))
		best, cpu := run(t, name, file)
		at, took = append(at, best), took+cpu
	}
	return exchange.Score{Units: at[0], Urgency: at[1], Owed: at[2]}, took
}

var outcome = regexp.MustCompile(`(?m)^(?:Objective:\s+obj =|Optimal - objective value)\s+(-?[\d.e+]+)`)

func run(t testing.TB, name, file string) (best int, cpu time.Duration) {
	answer := file + ".sol"
	args := []string{file, "solve", "solution", answer}
	if filepath.Base(name) == "glpsol" {
		args = []string{"--lp", file, "-o", answer}
	}
	cmd := exec.Command(name, args...)
	said, err := cmd.CombinedOutput()
	require.NoError(t, err, string(said))
	text, err := os.ReadFile(answer)
	require.NoError(t, err)
	found := outcome.FindStringSubmatch(string(text))
	require.NotNil(t, found, string(text[:min(len(text), 400)]))
	value, err := strconv.ParseFloat(found[1], 64)
	require.NoError(t, err)
	if value < 0 {
		value = -value // cbc minimises what it is told to maximise
	}
	return int(value + 0.5), cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
}

func TestMatchAgreesWithASolver(t *testing.T) {
	if *solver == "" {
		t.Skip("no -solver")
	}
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 3))
		m := village(seed, 3+rng.IntN(12), exchange.Sharing{Balanced: seed%3 > 0, Credit: rng.IntN(12) - 1})
		for i := range m.Offers {
			m.Offers[i].Variety %= 12
		}
		for i := range m.Wants {
			for k := range m.Wants[i].Varieties {
				m.Wants[i].Varieties[k] %= 12
			}
		}
		want, _ := newProgram(m).solve(t, *solver)
		require.Equal(t, want, exchange.Match(m).Score, "seed %d", seed)
	}
}

// TestSolverSideBySide solves one market of 50 and one of 500 members with Match and with the solver.
func TestSolverSideBySide(t *testing.T) {
	if *solver == "" {
		t.Skip("no -solver")
	}
	for _, sharing := range []exchange.Sharing{{}, {Balanced: true, Credit: 5}} {
		for _, members := range []int{50, 500} {
			m := village(1, members, sharing)
			start := time.Now()
			r := exchange.Match(m)
			ours := time.Since(start)
			p := newProgram(m)
			want, theirs := p.solve(t, *solver)
			require.Equal(t, want, r.Score)
			t.Logf("balanced=%t, %d members, %d variables: Match %v, %s %v (%.0f times as long)", sharing.Balanced, members,
				len(p.worth), ours.Round(time.Millisecond), *solver, theirs.Round(time.Millisecond), float64(theirs)/float64(ours))
		}
	}
}
