//go:build race

package main

// raced is for what is due within real seconds, which the race detector beside other packages cannot keep on two cores.
const raced = true
