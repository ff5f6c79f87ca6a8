package supply_test

import (
	"flag"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/supply"
)

// Debian's coinor-cbc. CI leaves the flag out.
var solver = flag.String("solver", "", "hold Plan's search against this `program`: cbc")

// program writes the least plants over the seasons as a mixed integer program, straight from the definition. Seasons in
// which every choice blooms in the same week are one, counted as often as they come.
func program(w supply.Wish, c supply.Counted) string {
	often := map[string]int{}
	for k := range supply.Seasons {
		pattern := make([]byte, len(c.Hits))
		for i := range c.Hits {
			pattern[i] = byte('A' + c.Hits[i][k])
		}
		often[string(pattern)]++
	}
	patterns := slices.Sorted(maps.Keys(often))
	need := int(math.Ceil(w.Certainty * supply.Seasons))
	var obj, rows, general, binary strings.Builder
	for i := range c.Hits {
		fmt.Fprintf(&obj, " + n%d", i)
		fmt.Fprintf(&general, " n%d\n", i)
	}
	for week := range w.Weeks {
		var met strings.Builder
		for k, pattern := range patterns {
			sum := ""
			for i := range c.Hits {
				if int(pattern[i])-'A' == week {
					sum += fmt.Sprintf(" + %d n%d", w.Choices[i].Stems, i)
				}
			}
			if sum == "" {
				continue
			}
			fmt.Fprintf(&rows, "s%d_%d:%s - %d z%d_%d >= 0\n", week, k, sum, w.Stems, week, k)
			fmt.Fprintf(&met, " + %d z%d_%d\n", often[pattern], week, k)
			fmt.Fprintf(&binary, " z%d_%d\n", week, k)
		}
		fmt.Fprintf(&rows, "met%d:%s >= %d\n", week, met.String(), need)
	}
	return "Minimize\nobj:" + obj.String() + "\nSubject To\n" + rows.String() + "General\n" + general.String() + "Binary\n" + binary.String() + "End\n"
}

var objective = regexp.MustCompile(`(?m)^Optimal - objective value ([0-9.]+)`)

func TestSearchAgainstSolver(t *testing.T) {
	t.Parallel()
	if *solver == "" {
		t.Skip("no -solver given")
	}
	src := rand.New(rand.NewPCG(2, 7))
	spare, cases := 0.0, 0
	for try := range 24 {
		w := supply.Wish{First: monday, Weeks: 1 + try%3, Stems: 5 + src.IntN(30), Certainty: 0.5 + 0.1*float64(src.IntN(4)), Split: supply.DefaultSplit(), Most: map[int64]int{}}
		choices := 4 + src.IntN(4)
		for i := range choices {
			v := int64(i/2 + 1)
			w.Most[v] = 1000
			w.Choices = append(w.Choices, supply.Choice{Stock: v, Variety: v, Window: within(monday.Add(7*w.Weeks*i/choices+src.IntN(7)), 3+src.IntN(8)), Stems: 3 + src.IntN(5)})
		}
		got := supply.Count(w)
		dir := t.TempDir()
		path, solution := filepath.Join(dir, "spread.lp"), filepath.Join(dir, "spread.sol")
		require.NoError(t, os.WriteFile(path, []byte(program(w, got)), 0o600))
		out, err := exec.CommandContext(t.Context(), *solver, path, "sec", "60", "solve", "solu", solution).CombinedOutput()
		require.NoError(t, err, string(out))
		text, err := os.ReadFile(solution)
		require.NoError(t, err)
		total := 0
		for _, n := range got.Plants {
			total += n
		}
		found := objective.FindSubmatch(text)
		if found == nil {
			require.False(t, got.Met && strings.HasPrefix(string(text), "Infeasible"))
			t.Logf("%d weeks, %d choices, %d stems, %.0f %%: the solver has no answer (%s); %d found", w.Weeks, choices, w.Stems, 100*w.Certainty, strings.SplitN(string(text), "\n", 2)[0], total)
			continue
		}
		best, err := strconv.ParseFloat(string(found[1]), 64)
		require.NoError(t, err)
		t.Logf("%d weeks, %d choices, %d stems, %.0f %%: %d found, %.0f best, %d by the relaxation", w.Weeks, choices, w.Stems, 100*w.Certainty, total, best, got.Least)
		require.GreaterOrEqual(t, float64(total), best-1e-6)
		require.LessOrEqual(t, float64(got.Least), best+1e-6)
		plan, err := supply.Plan(w)
		require.NoError(t, err)
		t.Logf("planned %d, least %d, tried %v, met %v", plan.Total, plan.Least, plan.Tried, plan.Met)
		spare += float64(total)/best - 1
		cases++
	}
	t.Logf("%d cases, %.1f %% more than the best on average", cases, 100*spare/float64(cases))
	require.Less(t, spare/float64(cases), 0.05)
}
