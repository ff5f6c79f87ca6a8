//go:build race

package scheduler_test

// raced is for what River takes too long for beside the race detector: it polls all the time, also in a bubble.
const raced = true
