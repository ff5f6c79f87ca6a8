// Command shortday is the chat assistant of a growers' co-op: flags, wiring and signals; all else is in the packages.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // zones, where the system has none
)

func main() { os.Exit(start()) }

func start() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	return run(ctx, os.Args[1:], os.Getenv, os.Stdin, os.Stdout, os.Stderr)
}
