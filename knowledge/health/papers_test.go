package health_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/health"
)

func TestPapers(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ from, to, says string }{
		{"UK", "England", "UK plant passport"},
		{"Ireland", "the Netherlands", "within the European Union"},
		{"Ireland", "Wales", "cross a border"},
		{"", "", "which depends on the country"},
		{"Ruritania", "Ruritania", "in Ruritania may need papers"},
		{"Ruritania", "Ireland", "phytosanitary certificate"},
		{" usa ", "USA", "nursery licence"},
		{"Canada", "", "movement certificate"},
	} {
		got := health.Papers(c.from, c.to)
		require.Contains(t, got, c.says)
		require.Contains(t, got, "authority decides", "it is never ours to decide")
	}
}
