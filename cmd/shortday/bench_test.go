package main

import (
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkAsk measures one question as a process of its own, from its start to its end, on a register with plants.
func BenchmarkAsk(b *testing.B) {
	dir := b.TempDir()
	program, db := filepath.Join(dir, "shortday"), filepath.Join(dir, "b.db")
	built, err := exec.CommandContext(b.Context(), "go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(b, err, string(built))
	ask := func(request string) {
		answer, err := exec.CommandContext(b.Context(), program, "ask", "--db", db, "--as", "Oona", "--at", "2026-11-20", request).CombinedOutput()
		require.NoError(b, err, string(answer))
	}
	ask("/grower place place:53.1,-6.7 zone:Europe/Dublin cover:yes")
	ask(`/variety add name:Saltmarsh like:"late spray"`)
	ask("/stock add variety:Saltmarsh count:12")
	ask(`/target set variety:Saltmarsh bloom:"5 nov" stems:40`)
	var took []time.Duration
	for b.Loop() {
		start := time.Now()
		ask("/job due")
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2])/1e6, "ms/median")
}
