package requests_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

// What a list of targets costs by how many there are.
func BenchmarkTargetList(b *testing.B) {
	for _, targets := range []int{1, 10, 100} {
		b.Run(fmt.Sprint(targets), func(b *testing.B) {
			desk, ask := crowded(b, 10_000)
			for i := 1; i < targets; i++ {
				reply := desk.AnswerLine(b.Context(), ask, fmt.Sprintf(`/target set variety:"Trial %d" bloom:2027-11-%02d stems:100`, i%eachHas, 6+i/eachHas))
				require.Nil(b, reply.Refusal)
			}
			for b.Loop() {
				require.Len(b, desk.AnswerLine(b.Context(), ask, "/target list").Rows.Rows, targets)
			}
		})
	}
}
