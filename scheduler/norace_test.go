//go:build !race

package scheduler_test

const raced = false
