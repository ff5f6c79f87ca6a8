package crop_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"shortday/knowledge/crop"
)

// Every chain of needs ends, and nothing needs itself.
func TestNeedsEnd(t *testing.T) {
	t.Parallel()
	for _, k := range crop.Kinds() {
		seen := map[crop.Kind]bool{}
		for n := k; n != ""; n = n.Needs() {
			require.False(t, seen[n], "%s needs itself by way of %s", k, n)
			seen[n] = true
		}
	}
}
